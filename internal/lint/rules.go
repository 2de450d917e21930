package main

import (
	"fmt"
	"sort"
	"strings"
)

const (
	module = "gristmark"
	gocv   = "gocv.io/x/gocv"
)

// pkg is what go list tells of a package.
type pkg struct {
	ImportPath   string
	Name         string   // main for a command
	Imports      []string // of the code
	TestImports  []string // of tests inside the package
	XTestImports []string // of tests in package x_test
	Deps         []string // everything the code depends on
}

// top is the level of commands.
const top = 70

// levels orders the rooms: a room imports only rooms of a lower level. The longest matching prefix
// counts, so that internal/x/y stands where internal/x does unless it has a line of its own.
var levels = map[string]int{
	"cmd":               70,
	"internal/accuracy": 70,

	"internal/accuracy/rulers":       68, // drawn photos that the bench times too
	"internal/accuracy/rulers/table": 70,

	"internal/bench":       70,
	"internal/fit":         70,
	"internal/lint":        70,
	"internal/soak":        70,
	"internal/web":         65,
	"internal/report":      60,
	"internal/pipeline":    50,
	"internal/weigh":       45,
	"internal/estimate":    45,
	"internal/compare":     48,
	"internal/judge":       48,
	"internal/lab":         45,
	"internal/kernels":     45,
	"internal/cup":         40,
	"internal/harvestfile": 45,
	"vision":               40,
	"calib":                40,
	"internal/harvest":     40,
	"internal/advice":      40,
	"internal/kernel":      40,
	"internal/sieve":       40,
	"internal/intake":      40,
	"internal/scene":       40,
	"internal/stats":       30,
	"calib/card":           30,
	"internal/result":      10,
	"internal/plain":       10,
	"internal/pages":       10,
	"internal/words":       20,
}

// onlyImports lists the rooms that may import no others of ours than these.
var onlyImports = map[string][]string{
	"internal/scene":  {"calib/card", "internal/result"},
	"internal/intake": {"internal/result"},
	"internal/stats":  {"internal/result"},
	"internal/result": {},
	"internal/words":  {"internal/result"},
}

// opencvRooms touch OpenCV themselves.
var opencvRooms = []string{"vision", "calib"}

// overOpencv may depend on OpenCV through others; every other room builds and tests without it.
var overOpencv = []string{"vision", "calib", "internal/pipeline", "cmd", "internal/accuracy", "internal/accuracy/rulers", "internal/accuracy/rulers/table", "internal/bench", "internal/fit"}

// stages, their commands left out, read no file, clock or environment.
var stages = []string{"vision", "calib", "internal/kernel", "internal/sieve", "internal/stats", "internal/advice", "internal/estimate", "internal/judge", "internal/kernels", "internal/result"}

// check returns a sentence for each import that goes the wrong way, sorted.
func check(packages []pkg) []string {
	var faults []string
	for _, p := range packages {
		faults = append(faults, checkOne(p)...)
	}
	sort.Strings(faults)
	return faults
}

func checkOne(p pkg) []string {
	from := within(p.ImportPath)
	room, level, known := roomOf(from)
	if p.Name == "main" {
		level = top // a command, wherever it lies, is imported by nothing
	}
	if !known {
		return []string{fmt.Sprintf("lint: %s has no level; give it one in internal/lint/rules.go", from)}
	}
	faults := directions(from, room, level, p.Imports, false)
	faults = append(faults, directions(from, room, level, append(p.TestImports, p.XTestImports...), true)...)
	return append(faults, dependencies(from, room, p)...)
}

// directions checks the imports of one package. Tests may look sideways and up, except that only the
// rooms of OpenCV touch gocv and that result and scene stay what they are.
func directions(from, room string, level int, imports []string, test bool) []string {
	var faults []string
	for _, path := range imports {
		if path == gocv && !belongs(room, opencvRooms) {
			faults = append(faults, fmt.Sprintf("lint: %s imports gocv; only vision and calib do", from))
		}
		to := within(path)
		if to == "" || to == from {
			continue
		}
		if why := direction(from, room, level, to, test); why != "" {
			faults = append(faults, fmt.Sprintf("lint: %s imports %s; %s", from, to, why))
		}
	}
	return faults
}

// direction tells why from must not import to; empty when it may.
func direction(from, room string, level int, to string, test bool) string {
	toRoom, toLevel, known := roomOf(to)
	sameRoom := known && toRoom == room
	if (room == "vision" && toRoom == "calib") || (room == "calib" && toRoom == "vision") {
		return "vision and calib never import each other"
	}
	if allowed, limited := onlyImports[room]; limited && !sameRoom && !contains(allowed, toRoom) {
		if !(test && room == "internal/result") {
			return "it may import only " + orNothing(allowed)
		}
	}
	if !test && !sameRoom && known && toLevel >= level {
		return "it stands as high or higher"
	}
	return ""
}

// dependencies checks what the package's code pulls in.
func dependencies(from, room string, p pkg) []string {
	var faults []string
	if contains(p.Deps, gocv) && !belongs(room, overOpencv) {
		faults = append(faults, fmt.Sprintf("lint: %s depends on gocv; it must build without OpenCV", from))
	}
	if p.Name != "main" && belongs(room, stages) && contains(p.Imports, "os") {
		faults = append(faults, fmt.Sprintf("lint: %s imports os; a stage reads no file, clock or environment", from))
	}
	return faults
}

// within cuts the module's name off an import path of ours; empty for others.
func within(path string) string {
	rest, ours := strings.CutPrefix(path, module+"/")
	if !ours {
		return ""
	}
	return rest
}

// roomOf returns the room that a package belongs to, and its level.
func roomOf(path string) (room string, level int, known bool) {
	for r := path; r != ""; {
		if l, ok := levels[r]; ok {
			return r, l, true
		}
		cut := strings.LastIndexByte(r, '/')
		if cut < 0 {
			break
		}
		r = r[:cut]
	}
	return "", 0, false
}

func belongs(room string, rooms []string) bool { return contains(rooms, room) }

func contains(list []string, s string) bool {
	for _, e := range list {
		if e == s {
			return true
		}
	}
	return false
}

func orNothing(list []string) string {
	if len(list) == 0 {
		return "nothing of ours"
	}
	return strings.Join(list, ", ")
}
