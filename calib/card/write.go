package card

import (
	"bufio"
	"bytes"
	"encoding/binary"
	"fmt"
	"hash/crc32"
	"image/png"
	"io"
	"math"
	"time"

	"codeberg.org/go-pdf/fpdf"
)

// WriteSVG writes the sheet, edge to edge, in true size.
func (s Sheet) WriteSVG(w io.Writer) error {
	b := bufio.NewWriter(w)
	fmt.Fprintf(b, `<svg xmlns="http://www.w3.org/2000/svg" width="%gmm" height="%gmm" viewBox="0 0 %g %g">`+"\n",
		s.WidthMM, s.HeightMM, s.WidthMM, s.HeightMM)
	fmt.Fprintf(b, "<title>gristmark %s</title>\n", s.Name)
	for _, shape := range s.Shapes() {
		fmt.Fprintf(b, `<path fill="#%02x%02x%02x" d="`, shape.Fill.R, shape.Fill.G, shape.Fill.B)
		for i, g := range shape.Path {
			switch g.Op {
			case Move:
				if i > 0 {
					b.WriteByte('Z')
				}
				fmt.Fprintf(b, "M%s %s", svg(g.X), svg(g.Y))
			case Line:
				fmt.Fprintf(b, "L%s %s", svg(g.X), svg(g.Y))
			case Quad:
				fmt.Fprintf(b, "Q%s %s %s %s", svg(g.CX), svg(g.CY), svg(g.X), svg(g.Y))
			}
		}
		b.WriteString("Z\"/>\n")
	}
	b.WriteString("</svg>\n")
	return b.Flush()
}

// svg writes a length in mm to a tenth of a micrometre.
func svg(v float64) string { return fmt.Sprintf("%g", math.Round(v*1e4)/1e4) }

// WritePDF writes a page of the given paper with the sheet in true size, cut marks where there is
// something to cut, and a check line of 100 mm. The bytes depend on nothing but the arguments.
func (s Sheet) WritePDF(w io.Writer, p Paper) error {
	page, err := layOut(s, p)
	if err != nil {
		return err
	}
	pdf := fpdf.NewCustom(&fpdf.InitType{
		OrientationStr: "P", UnitStr: "mm",
		Size: fpdf.SizeType{Wd: page.widthMM, Ht: page.heightMM},
	})
	pdf.SetCreationDate(time.Unix(0, 0).UTC())
	pdf.SetModificationDate(time.Unix(0, 0).UTC())
	pdf.SetCatalogSort(true)
	pdf.SetTitle("gristmark "+s.Name, true)
	pdf.SetAutoPageBreak(false, 0)
	pdf.AddPage()
	for _, shape := range page.shapes {
		pdf.SetFillColor(int(shape.Fill.R), int(shape.Fill.G), int(shape.Fill.B))
		pdfPath(pdf, shape.Path)
	}
	if err := pdf.Output(w); err != nil {
		return fmt.Errorf("card: writing the PDF: %w", err)
	}
	return nil
}

func pdfPath(pdf *fpdf.Fpdf, path []Segment) {
	var x, y float64
	for i, g := range path {
		switch g.Op {
		case Move:
			if i > 0 {
				pdf.ClosePath()
			}
			pdf.MoveTo(g.X, g.Y)
		case Line:
			pdf.LineTo(g.X, g.Y)
		case Quad: // PDF has cubics alone: the same curve, raised by one degree
			pdf.CurveBezierCubicTo(x+2*(g.CX-x)/3, y+2*(g.CY-y)/3, g.X+2*(g.CX-g.X)/3, g.Y+2*(g.CY-g.Y)/3, g.X, g.Y)
		}
		x, y = g.X, g.Y
	}
	pdf.ClosePath()
	pdf.DrawPath("F")
}

// WritePNG writes the sheet's raster, edge to edge, with its resolution in the pHYs chunk.
func (s Sheet) WritePNG(w io.Writer, dpi float64) error {
	var buf bytes.Buffer
	if err := png.Encode(&buf, s.Raster(dpi)); err != nil {
		return fmt.Errorf("card: writing the PNG: %w", err)
	}
	const ihdrEnd = 8 + 12 + 13 // signature, then the header chunk
	for _, part := range [][]byte{buf.Bytes()[:ihdrEnd], physChunk(dpi), buf.Bytes()[ihdrEnd:]} {
		if _, err := w.Write(part); err != nil {
			return err
		}
	}
	return nil
}

// physChunk states the resolution in pixels per metre (PNG specification, 11.3.4.3).
func physChunk(dpi float64) []byte {
	perMetre := uint32(math.Round(dpi / mmPerInch * 1000))
	chunk := []byte("\x00\x00\x00\x09pHYs")
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = binary.BigEndian.AppendUint32(chunk, perMetre)
	chunk = append(chunk, 1)
	return binary.BigEndian.AppendUint32(chunk, crc32.ChecksumIEEE(chunk[4:]))
}
