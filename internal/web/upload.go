package web

import (
	"errors"
	"fmt"
	"io"
	"mime/multipart"
	"net/http"
	"os"
	"strings"

	"gristmark/internal/harvest"
)

// maxField bounds one typed field of a form with photos.
const maxField = 8 << 10

// sentPhoto is what became of one photo of a form.
type sentPhoto struct {
	ID      string `json:"id,omitempty"`
	File    string `json:"file"`
	Again   bool   `json:"again,omitempty"` // it had come before
	Problem string `json:"problem,omitempty"`
}

// sent answers a form with photos.
type sent struct {
	Load    int64       `json:"load"`
	Photos  []sentPhoto `json:"photos"`
	Problem string      `json:"problem,omitempty"`
}

// bringing reads a form with photos part by part, so that no photo lies in memory. Fields come before photos.
type bringing struct {
	c      *call
	fields map[string]string
	parts  *multipart.Reader
	photo  io.Reader // the photo that comes next, read up to its beginning; nil: none
	file   string    // its name
}

func (c *call) bringing() (*bringing, error) {
	parts, err := c.r.MultipartReader()
	if err != nil {
		return nil, formError{"the form brought no photos; choose them and send it again"}
	}
	b := &bringing{c: c, fields: map[string]string{}, parts: parts}
	return b, b.next()
}

// next reads on to the next photo.
func (b *bringing) next() error {
	for b.photo = nil; ; {
		part, err := b.parts.NextPart()
		if errors.Is(err, io.EOF) {
			return nil
		}
		if err != nil {
			return cutOff(err)
		}
		if part.FormName() == "photo" {
			if part.FileName() == "" {
				continue // an input that nothing was chosen for
			}
			b.photo, b.file = part, part.FileName()
			return nil
		}
		if len(b.fields) >= 40 {
			return formError{"the form has too many fields"}
		}
		text, err := io.ReadAll(io.LimitReader(part, maxField+1))
		if err != nil {
			return cutOff(err)
		}
		if len(text) > maxField {
			return formError{"a field of the form is too long"}
		}
		b.fields[part.FormName()] = string(text)
	}
}

// cutOff is a form that ended before its end; too long a one keeps its own error.
func cutOff(err error) error {
	var long *http.MaxBytesError
	if errors.As(err, &long) {
		return err
	}
	return formError{"the form did not arrive whole; send it again"}
}

func (b *bringing) get(name string) string { return strings.TrimSpace(b.fields[name]) }

// into sends the photos on to a load. A photo that is refused does not hold up the others.
func (b *bringing) into(load int64) (sent, error) {
	out := sent{Load: load}
	for n := 0; b.photo != nil; n++ {
		if n >= MaxPhotos {
			out.Problem = b.c.t("At most %d photos at once: the others were left out.", MaxPhotos)
			return out, nil
		}
		key := ""
		if k := b.get("key"); k != "" {
			key = fmt.Sprintf("%s-%d", k, n)
		}
		p, again, err := b.c.desk().Upload(b.c.ctx(), load, key, b.file, b.photo, b.c.opt.MaxPhotoBytes)
		one := sentPhoto{ID: p.ID, File: b.file, Again: again}
		switch {
		case err == nil:
			out.Load = p.LoadID
		case errors.Is(err, harvest.ErrInput), errors.Is(err, harvest.ErrTooLarge):
			_, one.Problem = b.c.answer(err)
			out.Problem = one.File + ": " + one.Problem
		default:
			return out, err
		}
		out.Photos = append(out.Photos, one)
		if err := b.next(); err != nil {
			return out, err
		}
	}
	return out, nil
}

func addPhotos(c *call) error {
	load, err := c.id("load")
	if err != nil {
		return err
	}
	b, err := c.bringing()
	if err == nil && b.photo == nil {
		err = formError{"no photo was chosen; take one and send it again"}
	}
	if err != nil {
		return c.unless(load, err)
	}
	out, err := b.into(load)
	if err != nil {
		return err
	}
	return c.took(out, "sent")
}

// unless tells a fault of a form for a load only to who may send photos there; the log tells the others.
func (c *call) unless(load int64, fault error) error {
	l, err := c.desk().Load(c.ctx(), load)
	if err != nil {
		return err
	}
	h, err := c.desk().Harvest(c.ctx(), l.HarvestID)
	if err == nil {
		err = c.must(h, harvest.Crew)
	}
	if err != nil {
		return err
	}
	return fault
}

// took answers a form whose photos are kept.
func (c *call) took(out sent, said string) error {
	if c.wantsJSON() {
		status := http.StatusCreated
		if out.Problem != "" && len(out.Photos) == 1 {
			status = http.StatusUnprocessableEntity
		}
		return c.json(status, out)
	}
	if out.Problem != "" {
		return formError{out.Problem}
	}
	return c.see(fmt.Sprintf("/loads/%d", out.Load), said)
}

// addLoad makes a load and takes its photos. A form that comes twice makes one load: its first photo's key tells.
func addLoad(c *call) error {
	h, err := c.harvest()
	if err == nil {
		err = c.must(h, harvest.Crew)
	}
	if err != nil {
		return err
	}
	b, err := c.bringing()
	if err != nil {
		return err
	}
	if id, ok, err := b.before(h.ID); err != nil {
		return err
	} else if ok {
		out, err := b.into(id)
		if err != nil {
			return err
		}
		return c.took(out, "sent")
	}
	l, err := c.typedLoad(harvest.Load{HarvestID: h.ID}, b.get)
	typed := l
	if err == nil {
		var done func()
		if done, err = b.hold(); err != nil {
			return err
		}
		defer done()
		l, err = c.desk().AddLoad(c.ctx(), l)
	}
	if err != nil {
		if c.wantsJSON() {
			return err
		}
		return c.again(err, func(status int, _, fault string) error {
			return c.newLoadForm(status, h, typed.Name, typed.Settings, fault)
		})
	}
	out, err := b.into(l.ID)
	if err != nil {
		return err
	}
	said := "added"
	if len(out.Photos) > 0 {
		said = "sent"
	}
	return c.took(out, said)
}

// hold waits until the first photo is here as a whole, so that a form that is cut off leaves no empty load behind.
func (b *bringing) hold() (done func(), err error) {
	if b.photo == nil {
		return func() {}, nil
	}
	f, err := os.CreateTemp("", "gristmark-photo-")
	if err != nil {
		return nil, fmt.Errorf("web: there is no room for the photo: %w", err)
	}
	done = func() {
		_ = f.Close()
		_ = os.Remove(f.Name())
	}
	if _, err = io.Copy(f, io.LimitReader(b.photo, b.c.opt.MaxPhotoBytes+1)); err != nil {
		err = cutOff(err)
	} else {
		_, err = f.Seek(0, io.SeekStart)
	}
	if err != nil {
		done()
		return nil, err
	}
	b.photo = f
	return done, nil
}

// before finds the load that a form with this key made when it came the first time. An upload of nothing under the key of the
// form's first photo is answered with the photo that came first, or refused as empty.
func (b *bringing) before(harvestID int64) (int64, bool, error) {
	key := b.get("key")
	if key == "" || b.photo == nil {
		return 0, false, nil
	}
	some, err := b.c.desk().Loads(b.c.ctx(), harvestID, harvest.Filter{Limit: 1, Newest: true})
	if err != nil || len(some) == 0 {
		return 0, false, err
	}
	p, again, err := b.c.desk().Upload(b.c.ctx(), some[0].ID, key+"-0", b.file, strings.NewReader(""), 1)
	if errors.Is(err, harvest.ErrInput) {
		return 0, false, nil
	}
	return p.LoadID, again, err
}
