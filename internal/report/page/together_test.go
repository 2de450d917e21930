package page

import (
	"bytes"
	"sync"
	"testing"
)

// Pages of several samples are written at once, each as if alone.
func TestPagesAtOnce(t *testing.T) {
	var want bytes.Buffer
	if err := WriteSample(&want, page()); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 8 {
		wg.Go(func() {
			var b bytes.Buffer
			if err := WriteSample(&b, page()); err != nil || !bytes.Equal(b.Bytes(), want.Bytes()) {
				t.Errorf("another page, or %v", err)
			}
		})
	}
	wg.Wait()
}
