package harvestfile

import (
	"strings"
	"testing"
)

func TestPhotos(t *testing.T) {
	photos, err := Photos("s", []byte("photo,sample,field\n.\\a\\1.jpg,7,\nb.jpg,7,Long Acre\nc.jpg,8,\n"))
	if err != nil || len(photos) != 3 {
		t.Fatalf("%+v, %v", photos, err)
	}
	if p := photos[0]; p.Photo != "a/1.jpg" || p.Sample != "7" || p.Settings.Field != "Long Acre" || p.Line != 2 {
		t.Errorf("a sample's setting told for one photo holds for all: %+v", p)
	}
	if photos[2].Settings.Field != "" {
		t.Errorf("%+v", photos[2])
	}
}

func TestFaultsOfPhotos(t *testing.T) {
	for table, want := range map[string]string{
		"photo\na\n":                               "s line 1: there is no column sample; it names the sample of each photo",
		"sample\na\n":                              "s line 1: there is no column photo; it names each photo by its path within the folder",
		"photo,sample\na,\n":                       "s line 2: the sample of a is empty; name it, or take the line out",
		"photo,sample\n,a\n":                       "s line 2: the photo is empty; name it, or take the line out",
		"photo,sample\na,1\nb,1\n./a,2\n":          "s line 4: the photo a stands there twice, on line 2 too",
		"photo,sample,dm_pct\na,1,33\nb,1,34\n":    "s line 3: sample 1: dm_pct is 34, but on line 2 it is another; a sample has one setting each",
		"photo,sample,field\na,1,x\nb,1,\nc,1,y\n": "s line 4: sample 1: field is y, but on line 2 it is another; a sample has one setting each",
		"photo,sample\na,../up\n":                  `s line 2: the sample "../up" leads out of the folder; write it without .. and without a drive`,
		"photo,sample\n/etc/a,1\n":                 `s line 2: the photo "/etc/a" leads out of the folder; write it without .. and without a drive`,
		"photo,sampel\na,1\n":                      "s line 1: the column \"sampel\" is unknown; did you mean sample?",
	} {
		if _, err := Photos("s", []byte(table)); err == nil || strings.Split(err.Error(), "\n")[0] != want {
			t.Errorf("%q:\n got %v\nwant %s", table, err, want)
		}
	}
}

func TestSlip(t *testing.T) {
	for pair, want := range map[string]bool{"field feild": true, "hybrid hybrd": true, "load lode": false, "state stete": true, "note nose": true, "a abc": false, "state statee": true} {
		a, b, _ := strings.Cut(pair, " ")
		if slip(a, b) != want || slip(b, a) != want {
			t.Errorf("%s: want %v", pair, want)
		}
	}
}
