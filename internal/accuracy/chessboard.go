package main

import (
	"encoding/json"
	"fmt"
	"math"
	"os"
	"os/exec"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"
)

// Published with the photographs of a chessboard, 13 views, squares of 25 mm (left_intrinsics.yml of OpenCV's
// samples): focal length, principal point and mean error, px.
const (
	boardViews   = 13
	boardFocal   = 535.916
	boardCentreX = 342.283
	boardCentreY = 235.571
	boardErrorPx = 0.3926
)

// boardProfile is what is read of the camera profile.
type boardProfile struct {
	Focal   float64 `json:"focal_x_px"`
	CentreX float64 `json:"centre_x_px"` // pixel centres at +0.5
	CentreY float64 `json:"centre_y_px"`
}

var overAll = regexp.MustCompile(`([0-9.]+) px over all`)

// chessboards lets the program calibrate the camera from the chessboard photographs and holds the result
// against OpenCV's published one.
func chessboards(p program, folder string) string {
	files, err := filepath.Glob(filepath.Join(folder, "left*.jpg"))
	if err != nil || len(files) == 0 {
		return "The chessboard photographs are absent on this machine.\n"
	}
	where, err := os.MkdirTemp("", "accuracy")
	if err != nil {
		return err.Error() + "\n"
	}
	defer os.RemoveAll(where)
	profile := filepath.Join(where, "profile.json")
	said, err := exec.Command(string(p), append([]string{"calibrate", "--board", "9x6", "--square", "25mm", "--out", profile}, files...)...).CombinedOutput()
	data, readErr := os.ReadFile(profile)
	if readErr != nil {
		return fmt.Sprintf("The chessboards gave no profile: %v: %s\n", err, lastLine(string(said)))
	}
	var got boardProfile
	if err := json.Unmarshal(data, &got); err != nil {
		return err.Error() + "\n"
	}
	return boardTable(got, string(said))
}

// boardTable compares a profile and what the program said with what was published.
func boardTable(got boardProfile, said string) string {
	residual := math.NaN()
	if m := overAll.FindStringSubmatch(said); m != nil {
		residual, _ = strconv.ParseFloat(m[1], 64)
	}
	t := newTable("camera from the chessboards", "published", "here", "difference")
	t.row("views read", fmt.Sprint(boardViews), fmt.Sprint(strings.Count(said, " points, ")), "")
	t.row("focal length, px", number(boardFocal, 1), number(got.Focal, 1), signed(100*(got.Focal/boardFocal-1), 2)+" %")
	t.row("centre x, px", number(boardCentreX, 1), number(got.CentreX-0.5, 1), signed(got.CentreX-0.5-boardCentreX, 1)+" px")
	t.row("centre y, px", number(boardCentreY, 1), number(got.CentreY-0.5, 1), signed(got.CentreY-0.5-boardCentreY, 1)+" px")
	t.row("residual, px", number(boardErrorPx, 2), number(residual, 2), "")
	return t.String()
}
