package pipeline

import (
	"encoding/json"
	"errors"
	"fmt"
	"io/fs"
	"os"
	"path/filepath"

	"gristmark/calib"
)

// PrintsSchema names the version of the file of print corrections.
const PrintsSchema = "gristmark.prints/1"

// printsRecord is the file: printed length over nominal length by sheet.
type printsRecord struct {
	Schema string       `json:"schema"`
	Prints calib.Prints `json:"prints"`
}

// ReadPrints reads the print corrections that are kept; none where the file is not there.
func ReadPrints(file string) (calib.Prints, error) {
	data, err := os.ReadFile(file)
	if errors.Is(err, fs.ErrNotExist) {
		return calib.Prints{}, nil
	}
	var r printsRecord
	if err == nil {
		err = json.Unmarshal(data, &r)
	}
	if err == nil && r.Schema != PrintsSchema {
		err = fmt.Errorf("it has schema %q, want %q", r.Schema, PrintsSchema)
	}
	for _, v := range []float64{r.Prints.Card, r.Prints.MatA4, r.Prints.MatA3} {
		if err == nil && v != 0 && !(v >= 0.9 && v <= 1.1) {
			err = fmt.Errorf("a print of %g times its size", v)
		}
	}
	if err != nil {
		return calib.Prints{}, fmt.Errorf("pipeline: %s: %w; make it anew with gristmark calibrate", file, err)
	}
	return r.Prints, nil
}

// KeepPrint keeps the print correction of a sheet beside those of the others.
func KeepPrint(file, sheet string, scale float64) error {
	prints, err := ReadPrints(file)
	if err != nil {
		return err
	}
	at := prints.Of(sheet)
	if at == nil {
		return fmt.Errorf("pipeline: %q is no sheet", sheet)
	}
	*at = scale
	data, err := json.MarshalIndent(printsRecord{PrintsSchema, prints}, "", " ")
	if err != nil {
		return err
	}
	if err := os.MkdirAll(filepath.Dir(file), 0o777); err != nil {
		return fmt.Errorf("pipeline: print corrections cannot be kept: %w", err)
	}
	return WriteFile(file, append(data, '\n'))
}
