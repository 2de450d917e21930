package report

import (
	"gristmark/internal/result"
	"gristmark/internal/words"
)

// Paint is how text for a terminal is written. The zero value is plain English.
type Paint struct {
	On    bool         // colours
	Words *words.Words // language and units
}

func (p Paint) with(code, s string) string {
	if !p.On || s == "" {
		return s
	}
	return "\x1b[" + code + "m" + s + "\x1b[0m"
}

func (p Paint) bold(s string) string { return p.with("1", s) }
func (p Paint) dim(s string) string  { return p.with("2", s) }

// verdict colours a verdict; the word itself says the same.
func (p Paint) verdict(v *string, s string) string {
	switch {
	case v == nil:
		return p.dim(s)
	case *v == result.OnTarget:
		return p.with("1;32", s)
	case *v == result.Undecided:
		return p.with("1;33", s)
	}
	return p.with("1;31", s)
}
