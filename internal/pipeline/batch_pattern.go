package pipeline

import (
	"errors"
	"fmt"
	"path"
	"regexp"
	"slices"
	"strings"

	"gristmark/internal/harvestfile"
	"gristmark/internal/result"
)

// placeholder is {sample}, {n}, or a setting such as {field}.
var placeholder = regexp.MustCompile(`\{([a-z_]+)\}|\*`)

// ByPattern groups by the names of the files. A pattern is a name with places: {sample} names the sample, {n} is a number that tells its
// photos apart, * is anything, and the name of a setting, as in {field}, tells that. Where the pattern has a slash it speaks of the path within
// the folder, else of the name, and samples of separate folders stay apart. A pattern that begins with ^ is a regular expression with the group
// (?P<sample>…), held against the path within the folder. Photos that do not fit are left. The error says what is wrong with the pattern.
func ByPattern(pattern string) (Grouping, error) {
	re, whole, err := compilePattern(pattern)
	if err != nil {
		return nil, err
	}
	return func(_ string, photos []string) ([]Batch, []string, error) {
		g, left := gatherer{}, []string(nil)
		for _, p := range photos {
			dir, name := path.Split(p)
			if whole {
				dir, name = "", p
			}
			parts := re.FindStringSubmatch(name)
			sample := ""
			if parts != nil {
				sample = strings.Trim(parts[re.SubexpIndex("sample")], "/ ")
			}
			if sample == "" || slices.Contains(strings.Split(sample, "/"), "..") {
				left = append(left, p)
				continue
			}
			b := g.sample(dir + sample)
			told, err := settingsOf(re, parts)
			if err != nil {
				return nil, nil, fmt.Errorf("%s: %w", p, err)
			}
			if why := harvestfile.Differ(b.Settings, told); why != "" {
				return nil, nil, fmt.Errorf("%s: %s, but another photo of sample %s says otherwise; a sample has one setting each", p, why, b.Name)
			}
			b.Settings = told.Over(b.Settings)
			b.Photos = append(b.Photos, p)
		}
		return g.list(), left, nil
	}, nil
}

// compilePattern returns the expression, and whether it speaks of the whole path.
func compilePattern(pattern string) (re *regexp.Regexp, whole bool, err error) {
	whole = strings.Contains(pattern, "/")
	text := pattern
	if !strings.HasPrefix(pattern, "^") {
		if text, err = translate(pattern); err != nil {
			return nil, false, err
		}
	} else {
		whole = true
	}
	if re, err = regexp.Compile(text); err != nil {
		return nil, false, fmt.Errorf("the expression cannot be read: %s", strings.TrimPrefix(err.Error(), "error parsing regexp: "))
	}
	if re.SubexpIndex("sample") < 0 {
		return nil, false, errors.New("it names no sample; write {sample} where the sample's name stands, as in '{sample}_{n}.jpg', or (?P<sample>…) in an expression")
	}
	for _, name := range re.SubexpNames() {
		if name != "" && name != "sample" && name != "n" && !slices.Contains(harvestfile.Columns(), name) {
			return nil, false, fmt.Errorf("there is no place {%s}; there are {sample}, {n}, *, {%s}", name, strings.Join(harvestfile.Columns(), "}, {"))
		}
	}
	return re, whole, nil
}

// translate makes a pattern with places an expression. Capitals do not matter, because cameras write JPG and jpg.
func translate(pattern string) (string, error) {
	var b strings.Builder
	b.WriteString("^(?i:")
	rest, seen := pattern, map[string]bool{}
	for {
		at := placeholder.FindStringSubmatchIndex(rest)
		if at == nil {
			break
		}
		b.WriteString(regexp.QuoteMeta(rest[:at[0]]))
		name := "*"
		if at[2] >= 0 {
			name = rest[at[2]:at[3]]
		}
		switch {
		case name == "*":
			b.WriteString("[^/]*")
		case seen[name]:
			return "", fmt.Errorf("{%s} stands there twice", name)
		case name == "n":
			b.WriteString("(?P<n>[0-9]+)")
		default:
			b.WriteString("(?P<" + name + ">[^/]+?)")
		}
		seen[name] = true
		rest = rest[at[1]:]
	}
	b.WriteString(regexp.QuoteMeta(rest) + ")$")
	return b.String(), nil
}

func settingsOf(re *regexp.Regexp, parts []string) (result.Settings, error) {
	var s result.Settings
	for i, name := range re.SubexpNames() {
		if name == "" || name == "sample" || name == "n" {
			continue
		}
		if err := harvestfile.Set(&s, name, parts[i]); err != nil {
			return s, err
		}
	}
	return s, nil
}
