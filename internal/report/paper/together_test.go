package paper

import (
	"bytes"
	"sync"
	"testing"
)

// Sheets of several samples are written at once, each as if alone.
func TestSheetsAtOnce(t *testing.T) {
	o := operator(t, 2, "")
	var want bytes.Buffer
	if err := WriteOperator(&want, "a4", o); err != nil {
		t.Fatal(err)
	}
	var wg sync.WaitGroup
	for range 4 {
		wg.Go(func() {
			var b bytes.Buffer
			if err := WriteOperator(&b, "a4", o); err != nil || !bytes.Equal(b.Bytes(), want.Bytes()) {
				t.Errorf("another sheet, or %v", err)
			}
		})
	}
	wg.Wait()
}
