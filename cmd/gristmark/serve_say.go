package main

import (
	"fmt"
	"io"
	"net"
	"os"
	"strings"

	"github.com/urfave/cli/v2"
	"golang.org/x/term"
	"rsc.io/qr"

	"gristmark/internal/harvest"
)

// sayServing tells how phones and the first adviser get in.
func sayServing(c *cli.Context, opt serveOptions, s *site, l *harvest.Log, at net.Addr) error {
	out, w, address := c.App.Writer, wordsOf(c), s.address(at)
	fmt.Fprintln(out, w.T("gristmark serves %s", address))
	fmt.Fprintln(out, w.T("data: %s", opt.data))
	beyond := opt.public == nil && !loopback(at)
	if beyond && isTerminal(out) {
		if err := drawQR(out, plainFirst(s, address)); err != nil {
			return err
		}
	}
	if s.ca != nil {
		fmt.Fprintln(out, w.T("phones trust it once: open %s on them and compare", plainFirst(s, address)))
		fmt.Fprintln(out, s.ca.Finger)
	}
	if beyond && s.cert == nil {
		fmt.Fprintln(complaints(c), w.T("warning: without TLS others on this network can read passwords and photos; --make-ca makes a certificate for phones nearby, --tls-cert and --tls-key take yours, --listen 127.0.0.1:8470 keeps it to this machine"))
	}
	if opt.demo {
		return nil // it makes its own account
	}
	token, needed, err := l.FirstLink(c.Context)
	if err != nil {
		return said(err)
	}
	if needed {
		fmt.Fprintln(out, w.T("first account: %s", address+"/join/"+token))
		fmt.Fprintln(out, w.T("(this link works once; whoever opens it becomes adviser)"))
	}
	return nil
}

// plainFirst is the address that a phone opens first: that of the certificate where it must be trusted.
func plainFirst(s *site, address string) string {
	if s.ca != nil && s.public == nil {
		return "http://" + strings.TrimPrefix(address, "https://")
	}
	return address
}

func loopback(at net.Addr) bool {
	a, ok := at.(*net.TCPAddr)
	return ok && a.IP.IsLoopback()
}

func isTerminal(w io.Writer) bool {
	if f, ok := w.(*faultWriter); ok {
		w = f.w
	}
	f, ok := w.(*os.File)
	return ok && term.IsTerminal(int(f.Fd()))
}

// margin around a code that readers need, in modules (ISO/IEC 18004 asks for 4; terminals have a border of their own).
const margin = 2

// drawQR draws a code with two modules a character, dark on light whatever the terminal's colours.
func drawQR(w io.Writer, text string) error {
	code, err := qr.Encode(text, qr.L)
	if err != nil {
		return fmt.Errorf("no QR code for %s: %w", text, err)
	}
	var b strings.Builder
	for y := -margin; y < code.Size+margin; y += 2 {
		b.WriteString("\x1b[30;107m")
		for x := -margin; x < code.Size+margin; x++ {
			b.WriteString(half(code.Black(x, y), code.Black(x, y+1)))
		}
		b.WriteString("\x1b[0m\n")
	}
	_, err = io.WriteString(w, b.String())
	return err
}

func half(upper, lower bool) string {
	switch {
	case upper && lower:
		return "█"
	case upper:
		return "▀"
	case lower:
		return "▄"
	}
	return " "
}
