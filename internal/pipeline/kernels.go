package pipeline

import (
	"bytes"
	"errors"
	"fmt"
	"image"
	"image/jpeg"
	"io/fs"
	"os"
	"path/filepath"
	"slices"
	"strings"

	"gristmark/internal/kernels"
)

// KernelFile is where the stored kernel of a name lies in a folder.
func KernelFile(dir, name string) string { return filepath.Join(dir, name+".json") }

// ReadKernel reads a stored kernel from a folder. The error is fs.ErrNotExist where none has the name.
func ReadKernel(dir, name string) (kernels.Stored, error) {
	if err := kernels.CheckName(name); err != nil {
		return kernels.Stored{}, err
	}
	data, err := os.ReadFile(KernelFile(dir, name))
	if err != nil {
		return kernels.Stored{}, fmt.Errorf("pipeline: the stored kernel %q cannot be read: %w", name, err)
	}
	s, err := kernels.Read(data)
	if err != nil {
		return s, fmt.Errorf("pipeline: %s: %s", KernelFile(dir, name), strings.TrimPrefix(err.Error(), "kernels: "))
	}
	return s, nil
}

// ListKernels reads all stored kernels of a folder by their names; a folder that is not there holds none. The error tells of those
// that could not be read; the others are returned.
func ListKernels(dir string) (list []kernels.Stored, err error) {
	files, err := filepath.Glob(filepath.Join(escapeGlob(dir), "*.json"))
	if err != nil {
		return nil, err
	}
	var faults []error
	for _, file := range files {
		s, err := ReadKernel(dir, strings.TrimSuffix(filepath.Base(file), ".json"))
		if err != nil {
			faults = append(faults, err)
			continue
		}
		list = append(list, s)
	}
	return list, errors.Join(faults...)
}

// KeepKernel writes a stored kernel into a folder, in place of an earlier one of the name, and returns its file.
func KeepKernel(dir string, s kernels.Stored) (string, error) {
	data, err := s.Write()
	if err == nil {
		err = os.MkdirAll(dir, 0o777)
	}
	if err != nil {
		return "", fmt.Errorf("pipeline: the kernel cannot be kept: %w", err)
	}
	file := KernelFile(dir, s.Name)
	return file, WriteFile(file, data)
}

// ForgetKernel removes a stored kernel. The error is fs.ErrNotExist where none has the name.
func ForgetKernel(dir, name string) error {
	if err := kernels.CheckName(name); err != nil {
		return fmt.Errorf("%w: %w", err, fs.ErrNotExist)
	}
	if err := os.Remove(KernelFile(dir, name)); err != nil {
		return fmt.Errorf("pipeline: the stored kernel %q cannot be removed: %w", name, err)
	}
	return nil
}

// MakeKernel makes a stored kernel of a sample whose photos show unbroken kernels alone. The photos' pictures, where they were asked for, give the
// colour. The error is that of [kernels.Make].
func MakeKernel(name string, o *Outcome) (kernels.Stored, kernels.Sorted, error) {
	pictures := make([]image.Image, len(o.Frames))
	for i, f := range o.Frames {
		if f.Picture == nil {
			continue
		}
		picture, err := jpeg.Decode(bytes.NewReader(f.Picture))
		if err != nil {
			return kernels.Stored{}, kernels.Sorted{}, fmt.Errorf("pipeline: the picture of %s: %w", f.Photo.File, err)
		}
		pictures[i] = picture
	}
	photos := o.Document.Photos
	return kernels.Make(name, photos, func(q kernels.Piece) (lab [3]float64, ok bool) {
		picture := pictures[q.Photo]
		if picture == nil || len(q.OutlinePx) < 3 {
			return lab, false
		}
		return kernels.MeanLab(picture, slices.Clone(q.OutlinePx), float64(photos[q.Photo].WidthPx)/float64(picture.Bounds().Dx()))
	})
}

// StoredKernel is a stored kernel as an option.
func StoredKernel(s kernels.Stored) Kernel {
	return Kernel{LengthMM: s.LengthMM.Mean, WidthMM: s.WidthMM.Mean, ThicknessMM: s.ThicknessMM, From: "stored", Name: s.Name, AreaMM2: s.AreaMM2.Mean,
		Stored: &s}
}

// told says of a stored kernel what is taken for granted.
func (k Kernel) told() string {
	return fmt.Sprintf("an unbroken kernel is the stored kernel %s, %.1f × %.1f mm and %.0f mm²; its thickness, %.1f mm, is assumed from proportions",
		k.Name, k.LengthMM, k.WidthMM, k.AreaMM2, k.ThicknessMM)
}
