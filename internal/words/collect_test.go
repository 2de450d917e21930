package words

import (
	"go/ast"
	"go/parser"
	"go/token"
	"io/fs"
	"os"
	"path/filepath"
	"regexp"
	"slices"
	"strconv"
	"strings"
	"testing"
)

const root = "../.."

// said is an English text of the code and where it stands.
type said struct{ text, at string }

// walk calls do for every file of the code, tests left out.
func walk(t *testing.T, ending string, rooms []string, do func(path string)) {
	t.Helper()
	for _, room := range rooms {
		err := filepath.WalkDir(filepath.Join(root, room), func(path string, d fs.DirEntry, err error) error {
			if err != nil || d.IsDir() || !strings.HasSuffix(path, ending) || strings.HasSuffix(path, "_test.go") {
				return err
			}
			do(path)
			return nil
		})
		if err != nil {
			t.Fatal(err)
		}
	}
}

// keys are the texts that the code and the pages ask for by T and K.
func keys(t *testing.T) []said {
	var out []said
	walk(t, ".go", []string{"cmd", "internal"}, func(path string) {
		if strings.HasPrefix(path, filepath.Join(root, "internal/web")) {
			return // its pages are checked there
		}
		inspect(t, path, func(n ast.Node, at string) {
			call, ok := n.(*ast.CallExpr)
			if !ok || len(call.Args) == 0 {
				return
			}
			name := ""
			switch f := call.Fun.(type) {
			case *ast.SelectorExpr:
				name = f.Sel.Name
			case *ast.Ident:
				name = f.Name
			}
			argument := 0
			if name == "sayMore" {
				argument = 1
			}
			if name == "T" || name == "K" || name == "sayMore" {
				if text, ok := literal(call.Args[argument]); ok {
					out = append(out, said{text, at})
				}
			}
		})
	})
	asked := regexp.MustCompile(`\bt "([^"]*)"`)
	walk(t, ".html", []string{"internal/report"}, func(path string) {
		data, err := os.ReadFile(path)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range asked.FindAllStringSubmatch(string(data), -1) {
			out = append(out, said{m[1], path})
		}
	})
	return out
}

func inspect(t *testing.T, path string, do func(n ast.Node, at string)) {
	t.Helper()
	helps := []string{"Usage", "Description", "ArgsUsage", "UsageText", "Source"}
	set := token.NewFileSet()
	file, err := parser.ParseFile(set, path, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	ast.Inspect(file, func(n ast.Node) bool {
		if pair, ok := n.(*ast.KeyValueExpr); ok {
			if key, ok := pair.Key.(*ast.Ident); ok && slices.Contains(helps, key.Name) {
				return false // help stays English
			}
		}
		if n != nil {
			do(n, set.Position(n.Pos()).String())
		}
		return true
	})
}

// literal is the value of a text in the code, joined where it is written in pieces.
func literal(e ast.Expr) (string, bool) {
	switch e := e.(type) {
	case *ast.BasicLit:
		if e.Kind != token.STRING {
			return "", false
		}
		s, err := strconv.Unquote(e.Value)
		return s, err == nil
	case *ast.BinaryExpr:
		a, okA := literal(e.X)
		b, okB := literal(e.Y)
		return a + b, okA && okB && e.Op == token.ADD
	}
	return "", false
}

// sentences are texts that other rooms hand over finished: errors, refusals, checks' advice, notes.
func sentences(t *testing.T, rooms ...string) []said {
	var out []said
	walk(t, ".go", rooms, func(path string) {
		inspect(t, path, func(n ast.Node, at string) {
			if e, ok := n.(*ast.BasicLit); ok && e.Kind == token.STRING {
				s, err := strconv.Unquote(e.Value)
				if err == nil && sentence(s) {
					out = append(out, said{s, at})
				}
			}
		})
	})
	return out
}

// sentence tells text for people from names, formats and paths.
func sentence(s string) bool {
	return len(strings.Fields(s)) >= 3 && !strings.Contains(s, "://") && regexp.MustCompile(`[a-z]{3,} [a-z]`).MatchString(s) && !strings.Contains(s, "\n")
}

// missing are the texts without a wording in the language, once each. A piece of a text that the code puts together is known where
// a wording holds it.
func missing(w *Words, list []said) []string {
	var out []string
	seen := map[string]bool{}
	for _, s := range list {
		_, ok := w.of().texts[bare(s.text)]
		if _, wrapped := w.of().texts[strings.ReplaceAll(bare(s.text), "%w", "%v")]; !ok && !wrapped && !seen[s.text] {
			seen[s.text] = true
			out = append(out, strings.TrimPrefix(s.at, root+"/")+": "+s.text)
		}
	}
	slices.Sort(out)
	return out
}
