package harvest

import (
	"bytes"
	"compress/gzip"
	"encoding/json"
	"fmt"
	"io"

	"gristmark/internal/result"
)

// pack writes a record as JSON in gzip: outlines of pieces shrink to a fifth.
func pack(v any) ([]byte, error) {
	var buf bytes.Buffer
	z, err := gzip.NewWriterLevel(&buf, gzip.BestSpeed)
	if err != nil {
		return nil, err
	}
	if err := json.NewEncoder(z).Encode(v); err != nil {
		return nil, fmt.Errorf("harvest: %w", err)
	}
	if err := z.Close(); err != nil {
		return nil, err
	}
	return buf.Bytes(), nil
}

// unpack reads what pack wrote.
func unpack(data []byte, v any) error {
	z, err := gzip.NewReader(bytes.NewReader(data))
	if err != nil {
		return fmt.Errorf("harvest: a stored measurement cannot be read: %w", err)
	}
	text, err := io.ReadAll(z)
	if err != nil {
		return fmt.Errorf("harvest: a stored measurement cannot be read: %w", err)
	}
	if err := json.Unmarshal(text, v); err != nil {
		return fmt.Errorf("harvest: a stored measurement cannot be read: %w", err)
	}
	return nil
}

// thin leaves out what a list of loads has no use for: pieces, outlines, passed checks.
func thin(doc result.Document) result.Document {
	photos := make([]result.Photo, len(doc.Photos))
	for i, p := range doc.Photos {
		p.Particles, p.Field, p.Checks = nil, nil, nil
		photos[i] = p
	}
	doc.Photos = photos
	return doc
}
