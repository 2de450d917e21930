package main

import (
	"strings"
	"testing"
)

func TestCheck(t *testing.T) {
	const (
		v = "gristmark/vision"
		c = "gristmark/calib"
	)
	cases := []struct {
		name string
		p    pkg
		want string // part of the one fault; empty for none
	}{
		{"down", pkg{ImportPath: v, Imports: []string{gocv, "gristmark/internal/result"}}, ""},
		{"card inside calib", pkg{ImportPath: c, Imports: []string{"gristmark/calib/card"}}, ""},
		{"sideways", pkg{ImportPath: v, Imports: []string{c}}, "never import each other"},
		{"sideways in a test", pkg{ImportPath: c, XTestImports: []string{v}}, "never import each other"},
		{"card from vision", pkg{ImportPath: v, Imports: []string{"gristmark/calib/card"}}, ""},
		{"up", pkg{ImportPath: "gristmark/internal/kernel", Imports: []string{"gristmark/internal/pipeline"}}, "as high or higher"},
		{"same level", pkg{ImportPath: "gristmark/internal/kernel", Imports: []string{"gristmark/internal/advice"}}, "as high or higher"},
		{"up in a test", pkg{ImportPath: "gristmark/vision", TestImports: []string{"gristmark/internal/scene"}}, ""},
		{"gocv elsewhere", pkg{ImportPath: "gristmark/internal/pipeline", Imports: []string{gocv}}, "only vision and calib"},
		{"gocv in card", pkg{ImportPath: "gristmark/calib/card", TestImports: []string{gocv}}, "only vision and calib"},
		{"gocv through others", pkg{ImportPath: "gristmark/internal/web", Deps: []string{"fmt", gocv}}, "without OpenCV"},
		{"scene detects", pkg{ImportPath: "gristmark/internal/scene", Imports: []string{v}}, "may import only calib/card"},
		{"scene detects in a test", pkg{ImportPath: "gristmark/internal/scene", TestImports: []string{c}}, "may import only calib/card"},
		{"scene draws", pkg{ImportPath: "gristmark/internal/scene", Imports: []string{"gristmark/calib/card"}}, ""},
		{"result", pkg{ImportPath: "gristmark/internal/result", Imports: []string{"gristmark/internal/stats"}}, "nothing of ours"},
		{"file in a stage", pkg{ImportPath: "gristmark/internal/stats", Imports: []string{"os"}}, "no file, clock"},
		{"file in a command", pkg{ImportPath: "gristmark/internal/stats/table", Name: "main", Imports: []string{"os"}}, ""},
		{"new room", pkg{ImportPath: "gristmark/attic"}, "has no level"},
		{"subfolder", pkg{ImportPath: "gristmark/vision/shape", Imports: []string{"gristmark/vision/colour"}}, ""},
	}
	for _, tc := range cases {
		t.Run(tc.name, func(t *testing.T) {
			got := strings.Join(check([]pkg{tc.p}), "\n")
			if tc.want == "" && got != "" {
				t.Errorf("unexpected: %s", got)
			}
			if !strings.Contains(got, tc.want) {
				t.Errorf("got %q, want %q in it", got, tc.want)
			}
		})
	}
}

func TestDecode(t *testing.T) {
	got, err := decode(strings.NewReader(`{"ImportPath":"a"}{"ImportPath":"b","Imports":["c"]}`))
	if err != nil || len(got) != 2 || got[1].Imports[0] != "c" {
		t.Errorf("got %v, %v", got, err)
	}
	if _, err := decode(strings.NewReader(`{`)); err == nil {
		t.Error("half an object was accepted")
	}
}
