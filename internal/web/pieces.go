package web

import (
	"fmt"
	"math"
	"net/http"
	"sort"
	"strconv"

	"github.com/disintegration/imaging"
	"image"

	"gristmark/internal/advice"
	"gristmark/internal/estimate"
	"gristmark/internal/harvest"
	"gristmark/internal/result"
)

// pieceRow is a piece in the list.
type pieceRow struct {
	ID                   int
	Word, By, Sure, Size string
	doubt                float64
}

type photoBody struct {
	ID       string
	Sums     []sum
	Picture  string // address; empty: none
	Alt      string
	Pieces   []pieceRow
	May      bool
	Original bool
	Before   []measuredRow // by other versions, newest first
}

// measuredRow is an earlier measuring of a photo.
type measuredRow struct{ Version, When, Say string }

// scene is a photo with all that its page needs.
type scene struct {
	photo harvest.Photo
	load  harvest.Load
	in    harvest.Harvest
	set   advice.TargetSet
	role  harvest.Role
	named map[int]harvest.Correction
}

func (c *call) scene() (scene, error) {
	var s scene
	var err error
	if s.photo, err = c.photo(); err != nil {
		return s, err
	}
	if s.load, err = c.desk().Load(c.ctx(), s.photo.LoadID); err != nil {
		return s, err
	}
	if s.in, err = c.desk().Harvest(c.ctx(), s.load.HarvestID); err != nil {
		return s, err
	}
	if s.role, err = c.role(s.in.FarmID); err != nil {
		return s, err
	}
	s.set = targets(s.in)
	list, err := c.desk().Corrections(c.ctx(), s.load.ID)
	s.named = map[int]harvest.Correction{}
	for _, k := range list {
		if k.PhotoID == s.photo.ID {
			s.named[k.ID] = k
		}
	}
	return s, err
}

func (s scene) particles() []result.Particle {
	if s.photo.Result == nil {
		return nil
	}
	return s.photo.Result.Particles
}

func (s scene) particle(id int) (result.Particle, bool) {
	for _, p := range s.particles() {
		if p.ID == id {
			return p, true
		}
	}
	return result.Particle{}, false
}

func photoPage(c *call) error {
	s, err := c.scene()
	if err != nil {
		return err
	}
	b := photoBody{ID: s.photo.ID, May: s.role != harvest.Reader, Original: s.role == harvest.Adviser, Alt: c.t("Photo %s with its pieces outlined", s.photo.File)}
	if s.load.Document != nil {
		b.Sums = c.sums(s.load.Document.Sample, s.set, s.load.Settings.TLOCMM)
	}
	if s.photo.State == harvest.Measured || s.photo.State == harvest.Refused {
		b.Picture = fmt.Sprintf("/photos/%s/overlay.jpg?v=%t", s.photo.ID, s.photo.HasOverlay)
	}
	b.Pieces = c.pieceRows(s)
	if b.Before, err = c.before(s.photo.ID); err != nil {
		return err
	}
	return c.show(http.StatusOK, "photo", page{Title: s.photo.File, Body: b, Kind: "wide-page",
		Crumbs: []crumb{{s.in.Name, fmt.Sprintf("/harvests/%d", s.in.ID)}, {s.load.Name, fmt.Sprintf("/loads/%d", s.load.ID)}, {s.photo.File, ""}}})
}

// before lists what earlier versions measured in a photo; the newest measuring is what the page shows.
func (c *call) before(photo string) ([]measuredRow, error) {
	list, err := c.desk().Measurements(c.ctx(), photo)
	if err != nil || len(list) < 2 {
		return nil, err
	}
	var out []measuredRow
	for _, m := range list[1:] {
		row := measuredRow{Version: m.Version, When: c.when(m.At)}
		switch {
		case m.Photo == nil:
		case m.Photo.Problem != nil:
			row.Say = c.sentenceOf(*m.Photo.Problem)
		default:
			count := map[result.Class]int{}
			for _, p := range m.Photo.Particles {
				count[p.Class]++
			}
			row.Say = c.t("%d whole, %d broken kernels", count[result.WholeKernel], count[result.BrokenKernel]) + ", " + c.count(len(m.Photo.Particles), "1 piece", "%d pieces")
		}
		out = append(out, row)
	}
	return out, nil
}

// pieceRows lists the pieces, the least certain first.
func (c *call) pieceRows(s scene) []pieceRow {
	var out []pieceRow
	for _, p := range s.particles() {
		row := pieceRow{ID: p.ID, Word: c.className(p.Class), Sure: c.t("%d %%", int(math.Round(100*p.Probability))), doubt: p.Probability,
			Size: c.t("%s × %s mm", c.figure(p.LengthMM), c.figure(p.WidthMM))}
		if k, ok := s.named[p.ID]; ok {
			row.Word, row.By, row.Sure = c.className(k.Class), k.By, c.t("by hand")
		}
		out = append(out, row)
	}
	sort.SliceStable(out, func(i, j int) bool { return out[i].doubt < out[j].doubt })
	return out
}

func (c *call) className(class result.Class) string {
	switch class {
	case result.WholeKernel:
		return c.t("whole kernel")
	case result.BrokenKernel:
		return c.t("broken kernel")
	case result.Stover:
		return c.t("stalk, leaf, husk, cob")
	case estimate.NoPiece:
		return c.t("nothing of the crop")
	}
	return c.t("unsure")
}

// piece is a piece for the script: short names, for there are hundreds.
type piece struct {
	ID       int          `json:"id"`
	Class    result.Class `json:"c"`
	By       string       `json:"by,omitempty"` // who named it
	Percent  int          `json:"p"`
	At       [2]float64   `json:"at"`
	Size     [2]float64   `json:"mm"`
	Outlines [][2]float64 `json:"o,omitempty"`
}

type pieces struct {
	Width  int     `json:"w"` // px of the photo
	Height int     `json:"h"`
	Pieces []piece `json:"pieces"`
}

func photoPieces(c *call) error {
	s, err := c.scene()
	if err != nil {
		return err
	}
	out := pieces{Pieces: []piece{}}
	if r := s.photo.Result; r != nil {
		out.Width, out.Height = r.WidthPx, r.HeightPx
	}
	for _, p := range s.particles() {
		e := piece{ID: p.ID, Class: p.Class, Percent: int(math.Round(100 * p.Probability)), At: round(p.AtPx), Size: round(result.XY{p.LengthMM, p.WidthMM})}
		if k, ok := s.named[p.ID]; ok {
			e.Class, e.By = k.Class, k.By
		}
		for i := 0; i < len(p.OutlinePx); i += 1 + len(p.OutlinePx)/40 {
			e.Outlines = append(e.Outlines, round(p.OutlinePx[i]))
		}
		out.Pieces = append(out.Pieces, e)
	}
	return c.json(http.StatusOK, out)
}

func round(p result.XY) [2]float64 {
	return [2]float64{math.Round(10*p[0]) / 10, math.Round(10*p[1]) / 10}
}

type pieceBody struct{ Now, Look string }

// onePiece reads the piece of the path.
func (c *call) onePiece() (scene, result.Particle, error) {
	s, err := c.scene()
	if err != nil {
		return s, result.Particle{}, err
	}
	id, err := strconv.Atoi(c.r.PathValue("piece"))
	if err != nil {
		return s, result.Particle{}, harvest.ErrNone
	}
	p, ok := s.particle(id)
	if !ok {
		return s, p, harvest.ErrNone
	}
	return s, p, nil
}

// piecePage asks what a piece is: the way without scripts, and by keyboard.
func piecePage(c *call) error {
	s, p, err := c.onePiece()
	if err != nil {
		return err
	}
	if s.role == harvest.Reader {
		return harvest.ErrRight
	}
	b := pieceBody{Look: fmt.Sprintf("/photos/%s/pieces/%d/look.jpg", s.photo.ID, p.ID)}
	b.Now = c.t("Measured as %s, %d %% sure: %s by %s mm.", c.className(p.Class), int(math.Round(100*p.Probability)), c.figure(p.LengthMM), c.figure(p.WidthMM))
	if k, ok := s.named[p.ID]; ok {
		b.Now += " " + c.t("%s named it: %s.", k.By, c.className(k.Class))
	}
	name := c.t("Piece %d", p.ID)
	return c.show(http.StatusOK, "piece", page{Title: name + ": " + c.t("What is this piece?"), Body: b,
		Crumbs: []crumb{{s.load.Name, fmt.Sprintf("/loads/%d", s.load.ID)}, {s.photo.File, "/photos/" + s.photo.ID}, {name, ""}}})
}

func pieceLook(c *call) error {
	s, p, err := c.onePiece()
	if err != nil {
		return err
	}
	data, err := c.reduced.once(fmt.Sprintf("piece %s %d %s", s.photo.ID, p.ID, version(s.photo)), func() ([]byte, error) {
		m, err := c.picture(s.photo, 4000)
		if err != nil {
			return nil, err
		}
		scale := float64(m.Bounds().Dx()) / float64(max(1, s.photo.Result.WidthPx))
		size := 20.0
		for _, o := range p.OutlinePx {
			size = math.Max(size, 2*math.Hypot(o[0]-p.AtPx[0], o[1]-p.AtPx[1]))
		}
		return cutOut(toOrigin(m), p.AtPx[0]*scale, p.AtPx[1]*scale, size*scale)
	})
	if err != nil {
		return err
	}
	return c.jpegOut(data)
}

// toOrigin moves a picture to the origin of its coordinates.
func toOrigin(m image.Image) image.Image {
	if m.Bounds().Min == (image.Point{}) {
		return m
	}
	return imaging.Clone(m)
}

// correctPiece keeps what a person says of a piece; an empty class takes that back.
func correctPiece(c *call) error {
	s, p, err := c.onePiece()
	if err != nil {
		return err
	}
	if s.role == harvest.Reader {
		return harvest.ErrRight
	}
	class := result.Class(c.r.PostFormValue("class"))
	var l harvest.Load
	if class == "" {
		if _, named := s.named[p.ID]; !named {
			return c.corrected(s, s.load)
		}
		l, err = c.desk().Uncorrect(c.ctx(), s.photo.ID, p.ID)
	} else {
		l, err = c.desk().Correct(c.ctx(), s.photo.ID, p.ID, class)
	}
	if err != nil {
		return err
	}
	return c.corrected(s, l)
}

// corrected answers with the numbers that follow: to a script as a part of the page, to a person as the photo's page.
func (c *call) corrected(s scene, l harvest.Load) error {
	if c.r.Header.Get("X-Part") == "" {
		return c.see("/photos/"+s.photo.ID, "corrected")
	}
	var sums []sum
	if l.Document != nil {
		sums = c.sums(l.Document.Sample, s.set, l.Settings.TLOCMM)
	}
	return c.part("photo", "sums", sums)
}
