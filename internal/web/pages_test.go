package web_test

import (
	"testing"

	"gristmark/internal/harvest"
	"gristmark/internal/web/webtest"
)

func TestSmoke(t *testing.T) {
	s := webtest.New(t, webtest.Options{})
	data, err := webtest.Photo(webtest.Coarse)
	if err != nil {
		t.Fatal(err)
	}
	gap := 3.0
	l := s.Load(t, harvest.Load{Name: "Load 1", Settings: harvest.Settings{Show: "kernels", RollGapMM: &gap}}, data)
	if l.Document == nil || l.Document.Sample == nil {
		t.Fatalf("%+v", l.Photos[0].Problem)
	}
	t.Log(l.Document.Sample.Kernels.Passing475Pct)
}
