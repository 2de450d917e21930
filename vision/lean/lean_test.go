package lean_test

import (
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"strings"
	"testing"
)

// absent are the bindings' functions that stand-ins take the place of.
var absent = regexp.MustCompile(`gocv\.(IMRead|IMWrite|IMDecode|IMEncode|NewWindow|WaitKey|SelectROI|VideoCapture|OpenVideo|VideoWriter)|cv::(imread|imwrite|imdecode|imencode|imshow|VideoCapture|VideoWriter)\b`)

// No code of ours may call what the program does not hold. The tests of calib may: they do without this package.
func TestNothingAbsentIsCalled(t *testing.T) {
	seen := 0
	for _, dir := range []string{"vision", "calib", "internal", "cmd"} {
		err := filepath.WalkDir(filepath.Join("..", "..", dir), func(path string, d fs.DirEntry, err error) error {
			test := strings.HasSuffix(path, "_test.go") && dir == "calib" || strings.HasSuffix(path, "lean_test.go")
			if err != nil || d.IsDir() || test || !strings.HasSuffix(path, ".go") && !strings.HasSuffix(path, ".cpp") {
				return err
			}
			text, err := os.ReadFile(path)
			if call := absent.Find(text); call != nil {
				t.Errorf("%s calls %s, which programs of ours do not hold", path, call)
			}
			seen++
			return err
		})
		if err != nil {
			t.Fatal(err)
		}
	}
	if seen < 100 {
		t.Errorf("only %d files were looked at", seen)
	}
}
