package web

import (
	"fmt"
	"html/template"
	"strings"

	"rsc.io/qr"
)

// quiet is the empty margin that a reader needs around a code, in modules (ISO/IEC 18004).
const quiet = 4

// qrCode draws a text as a QR code.
func qrCode(text string) (template.HTML, error) {
	code, err := qr.Encode(text, qr.M)
	if err != nil {
		return "", fmt.Errorf("web: the address is too long for a code: %w", err)
	}
	var path strings.Builder
	for y := range code.Size {
		for x := range code.Size {
			if code.Black(x, y) {
				fmt.Fprintf(&path, "M%d %dh1v1h-1z", x+quiet, y+quiet)
			}
		}
	}
	size := code.Size + 2*quiet
	return template.HTML(fmt.Sprintf(`<svg viewBox="0 0 %d %d" role="img" aria-label="QR" shape-rendering="crispEdges"><rect width="%d" height="%d" fill="#fff"/><path d="%s" fill="#000"/></svg>`, size, size, size, size, path.String())), nil // numbers alone
}
