package web

import (
	"fmt"
	"go/ast"
	"go/parser"
	"go/token"
	"net/netip"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
	"testing"

	"gristmark/internal/words"
)

// textCall is a text that a template asks for.
var textCall = regexp.MustCompile(`\bt ("(?:[^"\\]|\\.)*")`)

// pageTexts are the texts of templates, code and scripts, with where they stand.
func pageTexts(t *testing.T) map[string]string {
	t.Helper()
	out := map[string]string{}
	files, err := filepath.Glob("templates/*.html")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range files {
		data, err := os.ReadFile(f)
		if err != nil {
			t.Fatal(err)
		}
		for _, m := range textCall.FindAllStringSubmatch(string(data), -1) {
			text, err := strconv.Unquote(m[1])
			if err != nil {
				t.Fatal(f, m[1], err)
			}
			out[text] = f
		}
	}
	code, err := filepath.Glob("*.go")
	if err != nil {
		t.Fatal(err)
	}
	for _, f := range code {
		if !strings.HasSuffix(f, "_test.go") {
			codeTexts(t, f, out)
		}
	}
	for _, text := range scriptTexts {
		out[text] = "said.go"
	}
	for _, text := range done {
		out[text] = "said.go"
	}
	for _, text := range checkNames {
		out[text] = "live.go"
	}
	return out
}

// codeTexts are the texts handed to t and count, and those of faults of forms.
func codeTexts(t *testing.T, file string, out map[string]string) {
	tree, err := parser.ParseFile(token.NewFileSet(), file, nil, 0)
	if err != nil {
		t.Fatal(err)
	}
	add := func(e ast.Expr) {
		if lit, ok := e.(*ast.BasicLit); ok && lit.Kind == token.STRING {
			text, _ := strconv.Unquote(lit.Value)
			out[text] = file
		}
	}
	ast.Inspect(tree, func(n ast.Node) bool {
		switch n := n.(type) {
		case *ast.CallExpr:
			f, ok := n.Fun.(*ast.SelectorExpr)
			if ok && f.Sel.Name == "t" && len(n.Args) > 0 {
				add(n.Args[0])
			}
			if ok && f.Sel.Name == "count" && len(n.Args) == 3 {
				add(n.Args[1])
				add(n.Args[2])
			}
		case *ast.CompositeLit:
			if name, ok := n.Type.(*ast.Ident); ok && name.Name == "formError" && len(n.Elts) == 1 {
				add(n.Elts[0])
				if call, ok := n.Elts[0].(*ast.CallExpr); ok && len(call.Args) > 1 {
					add(call.Args[0])
				}
			}
		}
		return true
	})
}

// same are texts that read the same in German.
var same = map[string]bool{"Name": true, "Filter": true, "CSV": true, "%s × %s mm": true, "%d %%": true}

// Every text of the pages has its German wording.
func TestEveryTextOfThePagesIsGermanToo(t *testing.T) {
	w, err := words.For("de")
	if err != nil {
		t.Fatal(err)
	}
	texts := pageTexts(t)
	if len(texts) < 350 {
		t.Fatalf("only %d texts were found; is the search broken?", len(texts))
	}
	for text, at := range texts {
		var args []any
		for _, v := range verb.FindAllString(text, -1) {
			switch v {
			case "%d":
				args = append(args, 7)
			case "%s", "%v":
				args = append(args, "x")
			}
		}
		english := text
		if len(args) > 0 {
			english = fmt.Sprintf(text, args...)
		}
		if w.T(text, args...) == english && !same[text] {
			t.Errorf("no German for %q in %s", text, at)
		}
	}
}

// verb is one of fmt.
var verb = regexp.MustCompile(`%[a-z%]`)

// The pages speak the language that the browser asks for, and say so.
func TestThePagesSpeakGerman(t *testing.T) {
	a, err := loadAssets()
	if err != nil {
		t.Fatal(err)
	}
	tongues, err := loadTongues(a)
	if err != nil {
		t.Fatal(err)
	}
	if tongues["de"] == nil || tongues["en"] == nil {
		t.Fatalf("languages %v", tongues)
	}
	if got := tongues["de"].js["Sending photo %d of %d"]; !strings.Contains(got, "Foto %d von %d") {
		t.Errorf("the scripts say %q", got)
	}
}

// A code for phones leads to the machine's address on its network where the adviser sits at the machine itself.
func TestCodesLeadToWherePhonesReach(t *testing.T) {
	lan := []netip.Addr{netip.MustParseAddr("192.168.7.20")}
	for host, want := range map[string]string{"127.0.0.1:8470": "192.168.7.20:8470", "localhost:8470": "192.168.7.20:8470", "[::1]:8470": "192.168.7.20:8470",
		"localhost": "192.168.7.20", "truck.local:8470": "truck.local:8470", "192.168.7.3:8470": "192.168.7.3:8470", "silage.example": "silage.example"} {
		if got := reachable(host, lan); got != want {
			t.Errorf("%s leads to %s, want %s", host, got, want)
		}
	}
	if got := reachable("127.0.0.1:8470", nil); got != "127.0.0.1:8470" {
		t.Errorf("without a network: %s", got)
	}
}
