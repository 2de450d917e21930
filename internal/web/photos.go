package web

import (
	"bytes"
	"fmt"
	"image"
	"io"
	"mime"
	"net/http"
	"path"
	"strings"
	"time"

	"github.com/disintegration/imaging"

	"gristmark/internal/harvest"
	"gristmark/internal/web/strip"
)

// jpegOut answers with a picture that only who may see it keeps.
func (c *call) jpegOut(data []byte) error {
	c.w.Header().Set("Content-Type", "image/jpeg")
	c.w.Header().Set("Cache-Control", "private, max-age=3600")
	c.w.Header().Set("X-Content-Type-Options", "nosniff")
	http.ServeContent(c.w, c.r, "", time.Time{}, bytes.NewReader(data))
	return nil
}

// photo reads the photo of the path; every picture goes through here, so that no address opens what its reader may not see.
func (c *call) photo() (harvest.Photo, error) { return c.desk().Photo(c.ctx(), c.r.PathValue("photo")) }

// bytes reads the overlay of a photo, or the photo itself.
func (c *call) bytes(p harvest.Photo, overlay bool) ([]byte, error) {
	open := c.desk().OpenPhoto
	if overlay {
		open = c.desk().OpenOverlay
	}
	r, err := open(c.ctx(), p.ID)
	if err != nil {
		return nil, err
	}
	defer r.Close()
	return io.ReadAll(io.LimitReader(r, c.opt.MaxPhotoBytes+(64<<20)))
}

// picture is the photo with its pieces outlined, where there is such a one, else the photo itself without what its file tells.
func (c *call) picture(p harvest.Photo, most int) (image.Image, error) {
	data, err := c.bytes(p, p.HasOverlay)
	if err != nil {
		return nil, err
	}
	if !p.HasOverlay {
		m, err := decode(p.File, data)
		if err != nil {
			return nil, harvest.ErrNone // what cannot be read has no picture
		}
		return imaging.Fit(m, most, most, imaging.Linear), nil
	}
	m, err := imaging.Decode(bytes.NewReader(data))
	if err != nil {
		return nil, err
	}
	return onlyPhoto(m, p), nil
}

// onlyPhoto cuts the band of text off an overlay.
func onlyPhoto(m image.Image, p harvest.Photo) image.Image {
	if p.Result == nil || p.Result.WidthPx == 0 {
		return m
	}
	b := m.Bounds()
	h := b.Dx() * p.Result.HeightPx / p.Result.WidthPx
	if h <= 0 || h >= b.Dy() {
		return m
	}
	return imaging.Crop(m, image.Rect(b.Min.X, b.Min.Y, b.Max.X, b.Min.Y+h))
}

func (c *call) reducedPhoto(kind string, most, quality int) error {
	p, err := c.photo()
	if err != nil {
		return err
	}
	data, err := c.reduced.once(fmt.Sprintf("%s %s %t %s", kind, p.ID, p.HasOverlay, version(p)), func() ([]byte, error) {
		m, err := c.picture(p, most)
		if err != nil {
			return nil, err
		}
		return within(m, most, quality)
	})
	if err != nil {
		return err
	}
	return c.jpegOut(data)
}

// version tells the measurements of a photo apart.
func version(p harvest.Photo) string {
	if p.Result == nil {
		return p.State
	}
	return fmt.Sprintf("%s %s %d", p.State, p.Result.SHA256, len(p.Result.Particles))
}

func photoSmall(c *call) error   { return c.reducedPhoto("small", smallPx, 78) }
func photoOverlay(c *call) error { return c.reducedPhoto("screen", screenPx, 84) }

// photoOriginal gives an adviser the photo as it came, without place, owner and whatever else its file tells.
func photoOriginal(c *call) error {
	p, err := c.photo()
	if err != nil {
		return err
	}
	if err := c.mustAdvise(p); err != nil {
		return err
	}
	data, err := c.bytes(p, false)
	if err != nil {
		return err
	}
	out, kind, err := strip.Photo(data)
	name := p.File
	if err != nil {
		m, err := decode(p.File, data)
		if err != nil {
			return formError{"the photo cannot be read, and so nothing can be taken out of it; it is not given away"}
		}
		if out, err = within(m, 20000, 95); err != nil {
			return err
		}
		kind, name = "image/jpeg", strings.TrimSuffix(name, path.Ext(name))+".jpg"
	}
	c.w.Header().Set("Content-Type", kind)
	c.w.Header().Set("X-Content-Type-Options", "nosniff")
	c.w.Header().Set("Content-Disposition", attachment(name))
	_, err = c.w.Write(out)
	return err
}

func attachment(name string) string {
	return mime.FormatMediaType("attachment", map[string]string{"filename": name})
}

// mustAdvise refuses who is no adviser of the photo's farm.
func (c *call) mustAdvise(p harvest.Photo) error {
	role, err := c.roleAtPhoto(p)
	if err == nil && role != harvest.Adviser {
		err = harvest.ErrRight
	}
	return err
}

func (c *call) roleAtPhoto(p harvest.Photo) (harvest.Role, error) {
	l, err := c.desk().Load(c.ctx(), p.LoadID)
	if err != nil {
		return "", err
	}
	h, err := c.desk().Harvest(c.ctx(), l.HarvestID)
	if err != nil {
		return "", err
	}
	return c.role(h.FarmID)
}

func dropPhoto(c *call) error {
	p, err := c.photo()
	if err == nil {
		err = c.desk().DropPhoto(c.ctx(), p.ID)
	}
	if err != nil {
		return err
	}
	return c.see(fmt.Sprintf("/loads/%d", p.LoadID), "removed")
}
