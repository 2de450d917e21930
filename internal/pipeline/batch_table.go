package pipeline

import (
	"fmt"
	"path"
	"slices"
	"strings"

	"gristmark/internal/harvestfile"
)

// ByTable groups by a table that names photos. A name without folder also stands for the one photo in a sub-folder that bears it. What the
// table names and is not there is refused among the photos of its sample; name is what to call the table.
func ByTable(name string, table []harvestfile.Photo) Grouping {
	return func(_ string, photos []string) ([]Batch, []string, error) {
		g, taken := gatherer{}, map[string]bool{}
		find := finder(photos)
		for _, line := range table {
			b := g.sample(line.Sample)
			b.Settings = line.Settings
			at, why := find(line.Photo)
			switch {
			case why != "":
				if b.Refused == nil {
					b.Refused = map[string]string{}
				}
				at = line.Photo
				b.Refused[at] = fmt.Sprintf("%s names it on line %d, but %s", name, line.Line, why)
			case taken[at]:
				return nil, nil, fmt.Errorf("%s line %d: the photo %s stands there twice", name, line.Line, at)
			}
			taken[at] = true
			b.Photos = append(b.Photos, at)
		}
		for _, b := range g {
			slices.Sort(b.Photos)
		}
		left := slices.DeleteFunc(slices.Clone(photos), func(p string) bool { return taken[p] })
		return g.list(), left, nil
	}
}

// finder finds photos by their path, or by their name alone where one photo bears it; else it says why not.
func finder(photos []string) func(string) (at, why string) {
	there, byName := map[string]bool{}, map[string][]string{}
	for _, p := range photos {
		there[p] = true
		byName[path.Base(p)] = append(byName[path.Base(p)], p)
	}
	return func(name string) (string, string) {
		if there[name] {
			return name, ""
		}
		if strings.Contains(name, "/") {
			return "", "it is not in the folder; copy it there or correct the table"
		}
		switch found := byName[name]; len(found) {
		case 0:
			return "", "it is not in the folder; copy it there or correct the table"
		case 1:
			return found[0], ""
		default:
			return "", fmt.Sprintf("%d sub-folders hold one of that name; write its path within the folder", len(found))
		}
	}
}

// AddSettings gives the samples what harvest.csv tells of their loads; what was told nearer, by the table of photos or the name of the file,
// stands. A load is that of the sample with its name, or of the one whose last part is that name. Loads without a sample and samples without
// a load are returned.
func AddSettings(list []Batch, loads []harvestfile.Load) (unused []harvestfile.Load, untold []string) {
	told := make([]bool, len(list))
	for _, l := range loads {
		i := sampleOf(list, l)
		if i < 0 {
			unused = append(unused, l)
			continue
		}
		list[i].Settings, told[i] = list[i].Settings.Over(l.Settings), true
	}
	for i, b := range list {
		if !told[i] {
			untold = append(untold, b.Name)
		}
	}
	return unused, untold
}

func sampleOf(list []Batch, l harvestfile.Load) int {
	i := slices.IndexFunc(list, func(b Batch) bool {
		return b.Name == l.Sample || b.Name == l.Sample+"/." || b.Settings.Load != "" && b.Settings.Load == l.Settings.Load
	})
	if i >= 0 {
		return i
	}
	ends := func(b Batch) bool { return strings.HasSuffix(b.Name, "/"+l.Sample) }
	i = slices.IndexFunc(list, ends)
	if i >= 0 && slices.IndexFunc(list[i+1:], ends) >= 0 {
		return -1 // two of them: neither is meant for sure
	}
	return i
}
