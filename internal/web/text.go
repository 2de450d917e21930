package web

import (
	"fmt"
	"strconv"
	"strings"
	"time"
	"unicode"
	"unicode/utf8"

	"gristmark/internal/sieve"
)

func upper(s string) string {
	r, n := utf8.DecodeRuneInString(s)
	if n == 0 {
		return s
	}
	return string(unicode.ToUpper(r)) + s[n:]
}

// plainNumber prints a number that may be absent as it is typed into a form.
func plainNumber(v *float64) string {
	if v == nil {
		return ""
	}
	return strconv.FormatFloat(*v, 'f', -1, 64)
}

// typedNumber reads a number that may be left empty; name is that of the field, for the fault.
func typedNumber(name, text string) (*float64, error) {
	text = strings.TrimSpace(text)
	if text == "" {
		return nil, nil
	}
	v, err := sieve.ParseNumber(text)
	if err != nil {
		return nil, formError{fmt.Sprintf("%s: %s is no number; write it as 19 or 19.5", name, text)}
	}
	return &v, nil
}

// when prints a time for a list, with the year where it is not this one.
func (c *call) when(t time.Time) string {
	if t.IsZero() {
		return ""
	}
	if t.Local().Year() == time.Now().Year() {
		return t.Local().Format("2 Jan, 15:04")
	}
	return t.Local().Format("2 Jan 2006, 15:04")
}

// day reads a date of a form; the zero time where there is none.
func day(text string) time.Time {
	t, err := time.ParseInLocation(time.DateOnly, text, time.Local)
	if err != nil {
		return time.Time{}
	}
	return t
}

// count prints "1 load", "2 loads".
func (c *call) count(n int, one, many string) string {
	if n == 1 {
		return c.t(one)
	}
	return c.t(many, n)
}
