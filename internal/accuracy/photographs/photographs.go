// Package photographs lists real photographs whose pieces were counted, by people who have nothing to
// do with this program.
package photographs

import (
	"os"
	"path/filepath"
)

// Photograph is a photograph with its count.
type Photograph struct {
	Set, File string
	Folder    string // from the root of the repository, or absolute
	Scale     string // what --scale is told
	Count     int    // pieces that lie there
	Tuning    bool   // the naming was fitted with it
}

// Folders of photographs.
const (
	Shared  = "../shared/photos"                            // beside the repository, where it is
	Skimage = "/usr/lib/python3/dist-packages/skimage/data" // of Debian's python3-skimage
)

// All are the counted photographs. The scale comes from what is in the photo, except where a plain number is
// stated: ten-beans' is from the colour card's nominal 76.2 mm (1298 px), the coins' is arbitrary (the counts
// alone are judged), sorghum-disc's is published with the photo.
func All() []Photograph {
	beans, disc, ten := filepath.Join(Shared, "beans-on-letter"), filepath.Join(Shared, "sorghum-disc"), filepath.Join(Shared, "ten-beans")
	return []Photograph{
		{"beans-on-letter", "IMG_8897.jpg", beans, "frame:190.5x254mm", 32, true},
		{"beans-on-letter", "IMG_9507.jpg", beans, "frame:190.5x254mm", 13, false},
		{"beans-on-letter", "IMG_9508.jpg", beans, "frame:190.5x254mm", 13, false},
		{"sorghum-disc", "sample_seeds.jpg", disc, "0.0997", 65, false},
		{"ten-beans", "beans_img.jpg", ten, "0.0587", 10, true},
		{"coins", "coins.png", Skimage, "0.2", 24, true},
	}
}

// Path of the file; root is the way from the working folder to the repository's root.
func (p Photograph) Path(root string) string {
	if filepath.IsAbs(p.Folder) {
		return filepath.Join(p.Folder, p.File)
	}
	return filepath.Join(root, p.Folder, p.File)
}

// Here reports whether the file is on this machine.
func (p Photograph) Here(root string) bool {
	_, err := os.Stat(p.Path(root))
	return err == nil
}
