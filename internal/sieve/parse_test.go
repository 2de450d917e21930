package sieve

import (
	"bytes"
	"strings"
	"testing"
	"unicode/utf16"

	"github.com/xuri/excelize/v2"
)

// The same shake written in the ways that scales, phones and spreadsheets write it.
func TestParseForgives(t *testing.T) {
	same := []string{
		"sieve,mass_g\ntop,12.5\nmiddle,340\nlower,120\npan,28\n",
		"\xEF\xBB\xBFSieve;Mass (g)\r\nTop;12,5\r\nMiddle;340\r\nLower;120,0\r\nPan;28\r\n",
		"mass_g\tsieve\n12.5\ttop\n340\tmiddle\n120\tlower\n28\tpan\n",
		"screen | weight kg\n19 | 0.0125\n8.0 mm | 0.340\n> 4 mm | 0.12\n< 4 mm | 0.028\n",
		"Box of the north field\n\nsieve,weight\nTOP,12.5 g\nmiddle,340 g\nlower,0.12 kg\npan,28 g\ntotal,500.5\n",
		"# a note\nsieve,gross,tare\ntop,112.5,100\nmiddle,440,100\nlower,220,100\npan,128,100\n",
		"sieve,mass_g,weather\n\"top\",\"12.5\",dry\nmiddle,340,dry\nlower,120,dry\nbottom pan,28,dry\n,,\n",
	}
	for i, text := range same {
		w, err := Parse([]byte(text), Options{})
		if err != nil {
			t.Errorf("%d: %v", i, err)
			continue
		}
		for k, want := range []float64{12.5, 340, 120, 28} {
			close(t, "mass", w.Shakes[0].Fractions[k].MassG, want, 1e-9)
		}
		if k := KindOf(w.Shakes[0].Openings()); k != Box {
			t.Errorf("%d: %s", i, k)
		}
	}
}

func TestParseUTF16AndLatin1(t *testing.T) {
	text := "sieve;mass_g\n4000 µm;12,5\npan;30\n"
	var b bytes.Buffer
	b.Write([]byte{0xFF, 0xFE})
	for _, u := range utf16.Encode([]rune(text)) {
		b.Write([]byte{byte(u), byte(u >> 8)})
	}
	latin := []byte(strings.ReplaceAll(text, "µ", "\xB5"))
	for _, data := range [][]byte{b.Bytes(), latin, []byte(text)} {
		w, err := Parse(data, Options{})
		if err != nil {
			t.Fatal(err)
		}
		close(t, "opening", w.Shakes[0].Fractions[0].OpeningMM, 4, 1e-12)
	}
}

func workbook(t *testing.T, rows [][]any) []byte {
	t.Helper()
	f := excelize.NewFile()
	defer f.Close()
	for i, row := range rows {
		at, err := excelize.CoordinatesToCellName(1, i+1)
		if err != nil {
			t.Fatal(err)
		}
		if err := f.SetSheetRow("Sheet1", at, &row); err != nil {
			t.Fatal(err)
		}
	}
	var b bytes.Buffer
	if err := f.Write(&b); err != nil {
		t.Fatal(err)
	}
	return b.Bytes()
}

func TestParseWorkbook(t *testing.T) {
	w, err := Parse(workbook(t, [][]any{{"Shake of 12 September"}, nil, {"sieve", "mass_g"}, {"top", 12.5}, {8, 340}, {"lower", 120}, {"pan", "28 g"}}), Options{})
	if err != nil {
		t.Fatal(err)
	}
	close(t, "total", w.Shakes[0].TotalG(), 500.5, 1e-9)
	_, err = Parse(workbook(t, [][]any{{"sieve", "mass_g"}, {"top", 12.5}, {"middle", "wet"}, {"pan", 28}}), Options{})
	if err == nil || err.Error() != `sieve: row 3, column B (mass_g): "wet" is not a number` {
		t.Errorf("stray text: %v", err)
	}
	if _, err := Parse([]byte("PK\x03\x04 and no more"), Options{}); err == nil {
		t.Error("a damaged workbook was read")
	}
}

// Each fault is one sentence that says where and what to do.
func TestParseRefuses(t *testing.T) {
	cases := []struct{ name, text, says string }{
		{"empty", " \n", "the file is empty"},
		{"only comments", "# a note\n", "holds no row"},
		{"binary", "a\x00b", "neither CSV nor XLSX"},
		{"old workbook", "\xD0\xCF\x11\xE0...", "save it as .xlsx"},
		{"no header", "top,12\nmiddle,340\npan,3\n", "row 1: no header"},
		{"only a header", "sieve,mass_g\n", "row 1: no fraction follows"},
		{"negative", "sieve,mass_g\ntop,-12\npan,30\n", `row 2, column B (mass_g): "-12" is negative`},
		{"text", "sieve,mass_g\ntop,12\nmiddle,n/a\npan,3\n", `row 3, column B (mass_g): "n/a" is not a number`},
		{"empty mass", "sieve,mass_g\ntop,\npan,3\n", "row 2, column B (mass_g): is empty"},
		{"empty sieve", "sieve,mass_g\n,12\npan,3\n", "row 2, column A (sieve): is empty"},
		{"no sieve", "sieve,mass_g\ntop,12\nweighed by hand,3\n", `row 3, column A (sieve): "weighed by hand" is no sieve`},
		{"wrong order", "sieve,mass_g\ntop,12\nlower,120\nmiddle,340\npan,28\n", `row 4, column A (sieve): "middle" comes after the finer "lower"`},
		{"pan first", "sieve,mass_g\npan,28\ntop,12\n", `row 3, column A (sieve): "top" comes after the pan`},
		{"no pan", "sieve,mass_g\ntop,12\nmiddle,340\nlower,120\n", "row 4, column sieve: \"lower\" is the last fraction and there is no pan"},
		{"doubled", "sieve,mass_g\ntop,12\nmiddle,340\n8 mm,341\npan,28\n", "row 4, column A (sieve): \"8 mm\" stands there twice, in row 3 too"},
		{"kilograms", "sieve,mass_g\ntop,0.012\nmiddle,0.340\nlower,0.120\npan,0.028\n", "are they kilograms"},
		{"milligrams", "sieve,mass_g\ntop,12000\nmiddle,340000\nlower,120000\npan,28000\n", "are they milligrams"},
		{"all zero", "sieve,mass_g\ntop,0\npan,0\n", "all fractions are 0"},
		{"shares", "sieve,share_pct\ntop,5.0\nmiddle,60.0\nlower,20.0\npan,9.0\n", "sum to 94 %, not 100"},
		{"share over 100", "sieve,share_pct\ntop,500\npan,9\n", "must lie between 0 and 100"},
		{"decimal comma between commas", "sieve,mass_g\ntop,12,5\nmiddle,340\npan,28\n", "row 2, column C: \"5\" stands beyond"},
		{"mixed decimals", "sieve;mass_g\ntop;12,5\nmiddle;340.5\npan;28\n", "mixes decimal commas and decimal points"},
		{"unclear comma", "sieve;mass_g\ntop;1,234\nmiddle;340\npan;28\n", "may mean thousands or a decimal comma"},
		{"total", "sieve,mass_g\ntop,12\nmiddle,340\npan,28\ntotal,400\n", "row 5, column mass: the total says 400, the fractions sum to 380"},
		{"tare", "sieve,mass_g,tare_g\ntop,12,100\npan,28,1\n", "row 2, column C (tare_g): the tare of 100 g is more"},
		{"dry", "sieve,mass_g,dry_g\ntop,12,13\npan,28,1\n", "row 2, column C (dry_g): the dry mass of 13 g is more"},
		{"two masses", "sieve,mass_g,weight\ntop,12,13\npan,28,1\n", "mean the same"},
		{"unit", "sieve,mass_g\ntop,12 mm\npan,28\n", "has a unit that is no mass"},
		{"one row in kilograms", "sieve,mass_g\ntop,12\nmiddle,0.340\nlower,120\npan,28\nput in,502\n", "row 3, column mass: 0.34 g would fit the 502 g put in if it were kilograms"},
		{"different stacks", "shake,sieve,mass_g\na,top,12\na,pan,30\nb,middle,12\nb,pan,30\n", "different sieves"},
		{"overflow", "sieve,mass_g\ntop,1e400\npan,30\n", "too large"},
	}
	for _, c := range cases {
		_, err := Parse([]byte(c.text), Options{})
		if err == nil || !strings.Contains(err.Error(), c.says) || strings.Contains(err.Error(), "\n") {
			t.Errorf("%s: %v", c.name, err)
		}
	}
}

// Shares as published sum to 99.96 to 100.12; whole percent may sum to 99 or 101.
func TestSharesMayBeRounded(t *testing.T) {
	for _, text := range []string{
		"sieve,share_pct\ntop,6.04\nmiddle,60.04\nlower,20.04\npan,14.0\n",
		"sieve,%\ntop,6\nmiddle,60\nlower,21\npan,14\n",
	} {
		if _, err := Parse([]byte(text), Options{}); err != nil {
			t.Errorf("%q: %v", text, err)
		}
	}
}

func TestOlderBoxByName(t *testing.T) {
	w, err := Parse([]byte("sieve,mass_g\ntop,12\nmiddle,340\nlower,120\npan,28\n"), Options{Box: "19-8-1.18"})
	if err != nil {
		t.Fatal(err)
	}
	if k := KindOf(w.Shakes[0].Openings()); k != OlderBox {
		t.Errorf("%s", k)
	}
	if _, err := Parse([]byte("sieve,mass_g\ntop,12\npan,28\n"), Options{Box: "20-10"}); err == nil {
		t.Error("an unknown box passed")
	}
}

func TestParseTyped(t *testing.T) {
	w, err := ParseTyped("middle=340, top=12.5,pan=28 g,lower=0.12kg", Options{})
	if err != nil {
		t.Fatal(err)
	}
	for k, want := range []float64{12.5, 340, 120, 28} {
		close(t, "mass", w.Shakes[0].Fractions[k].MassG, want, 1e-9)
	}
	if w, err = ParseTyped("top=12,5;middle=340;pan=28", Options{}); err != nil || w.Shakes[0].Fractions[0].MassG != 12.5 {
		t.Errorf("decimal comma: %v", err)
	}
	for _, bad := range []string{"", "top=12", "top=12,5,pan=3", "top=x,pan=3", "top=12,19=3,pan=8", "top=-1,pan=30", "roof=3,pan=3", "top=0.012,pan=0.4"} {
		if _, err := ParseTyped(bad, Options{}); err == nil {
			t.Errorf("%q passed", bad)
		}
	}
}

func FuzzParseCSV(f *testing.F) {
	for _, s := range []string{
		"sieve,mass_g\ntop,12\nmiddle,340\nlower,120\npan,28\n",
		"sieve;mass (kg);tare_g\n19 mm;0,5;1\n< 4;0,1;1\n",
		"shake,sieve,share_pct,whole_kernels\na,top,50,3\na,pan,50,0\n",
		"sieve,mass_g\n\"to\"p,1,,\npan", "\xFF\xFEs\x00", "sieve,mass_g,diagonal_mm,dm_pct\n19,100,26.9,35\npan,100,,35\nput in,210\ntotal,200",
	} {
		f.Add([]byte(s))
	}
	f.Fuzz(func(t *testing.T, data []byte) {
		w, err := Parse(data, Options{})
		if err != nil {
			if s := err.Error(); !strings.HasPrefix(s, "sieve: ") {
				t.Fatalf("error without the package's name: %s", s)
			}
			return
		}
		if r, err := Analyse(w, Terms{}); err == nil {
			sum := 0.0
			for _, f := range r.Fractions {
				sum += f.SharePct.Value
			}
			close(t, "sum of shares", sum, 100, 1e-6)
		}
	})
}

func FuzzParseWorkbook(f *testing.F) {
	f.Add([]byte("PK\x03\x04"))
	f.Fuzz(func(t *testing.T, data []byte) {
		_, _ = readXLSX(data) // must return, whatever the bytes
	})
}
