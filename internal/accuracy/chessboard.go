package main

import (
	"fmt"
	"math"
	"os"
	"path/filepath"
	"regexp"
	"strconv"
	"strings"

	"gristmark/internal/accuracy/score"
	"gristmark/internal/result"
)

// boardPose is where OpenCV's published calibration puts a chessboard in front of the left camera.
type boardPose struct {
	rotation    [3]float64 // Rodrigues' vector
	translation [3]float64 // m
}

// Published with the photographs (left_intrinsics.yml): focal length and centre, px.
const (
	boardFocal   = 535.91573396163199
	boardCentreX = 342.28315473308373
	boardCentreY = 235.57082909788173
)

// boardFiles are the views that the calibration lists, in its order; there is no left10.
func boardFiles() []string {
	var files []string
	for i := 1; i <= 14; i++ {
		if i != 10 {
			files = append(files, fmt.Sprintf("left%02d.jpg", i))
		}
	}
	return files
}

var poseData = regexp.MustCompile(`(?s)extrinsic_parameters:.*?data: \[([^\]]*)\]`)

// readPoses reads the extrinsic parameters, six numbers a view.
func readPoses(yml string) ([]boardPose, error) {
	m := poseData.FindStringSubmatch(yml)
	if m == nil {
		return nil, fmt.Errorf("accuracy: no extrinsic_parameters in the calibration file")
	}
	var v []float64
	for _, field := range strings.FieldsFunc(m[1], func(r rune) bool { return r == ',' || r == ' ' || r == '\n' }) {
		f, err := strconv.ParseFloat(field, 64)
		if err != nil {
			return nil, fmt.Errorf("accuracy: calibration file: %w", err)
		}
		v = append(v, f)
	}
	var poses []boardPose
	for ; len(v) >= 6; v = v[6:] {
		poses = append(poses, boardPose{[3]float64(v[:3]), [3]float64(v[3:6])})
	}
	return poses, nil
}

// mmPerPx is the board's scale at a pixel: the square root of the area ratio, without the lens's
// distortion, which is nil at the centre.
func (b boardPose) mmPerPx(x, y float64) float64 {
	const h = 0.5
	left, right := b.onBoard(x-h, y), b.onBoard(x+h, y)
	up, down := b.onBoard(x, y-h), b.onBoard(x, y+h)
	area := (right[0]-left[0])*(down[1]-up[1]) - (right[1]-left[1])*(down[0]-up[0])
	return 1000 * math.Sqrt(math.Abs(area))
}

// onBoard is where the ray of a pixel meets the board, m in the board's own frame.
func (b boardPose) onBoard(x, y float64) result.XY {
	ray := [3]float64{(x - boardCentreX) / boardFocal, (y - boardCentreY) / boardFocal, 1}
	ex, ey, n := b.turn([3]float64{1, 0, 0}), b.turn([3]float64{0, 1, 0}), b.turn([3]float64{0, 0, 1})
	along := dot(n, b.translation) / dot(n, ray)
	var p [3]float64
	for i := range p {
		p[i] = along*ray[i] - b.translation[i]
	}
	return result.XY{dot(ex, p), dot(ey, p)}
}

// turn applies Rodrigues' rotation.
func (b boardPose) turn(v [3]float64) [3]float64 {
	angle := math.Sqrt(dot(b.rotation, b.rotation))
	if angle == 0 {
		return v
	}
	var k, out [3]float64
	for i := range k {
		k[i] = b.rotation[i] / angle
	}
	cross := [3]float64{k[1]*v[2] - k[2]*v[1], k[2]*v[0] - k[0]*v[2], k[0]*v[1] - k[1]*v[0]}
	sin, cos := math.Sincos(angle)
	for i := range out {
		out[i] = v[i]*cos + cross[i]*sin + k[i]*dot(k, v)*(1-cos)
	}
	return out
}

func dot(a, b [3]float64) float64 { return a[0]*b[0] + a[1]*b[1] + a[2]*b[2] }

// chessboards compares the scale read off photographed chessboards, squares of 25 mm, with the
// published calibration.
func chessboards(p program, folder string) string {
	yml, err := os.ReadFile(filepath.Join(folder, "left_intrinsics.yml"))
	if err != nil {
		return "The chessboard photographs are absent on this machine.\n"
	}
	poses, err := readPoses(string(yml))
	files := boardFiles()
	if err != nil || len(poses) != len(files) {
		return fmt.Sprintf("The calibration file of the chessboards could not be used: %d poses, %v.\n", len(poses), err)
	}
	t := newTable("view", "published mm per px", "measured", "error %", "tilt °")
	var errors []float64
	for i, file := range files {
		want := poses[i].mmPerPx(320, 240)
		doc, _ := p.measure(filepath.Join(folder, file), "--scale", "grid:25mm")
		if s := doc.Photos[0].Scale; s != nil {
			errors = append(errors, math.Abs(100*(s.MMPerPx/want-1)))
			t.row(file, number(want, 4), number(s.MMPerPx, 4), signed(100*(s.MMPerPx/want-1), 2), number(s.TiltDeg, 0))
		} else {
			t.row(file, number(want, 4), "refused", "–", "–")
		}
	}
	return t.String() + fmt.Sprintf("\n%d of %d boards read; error of the scale: median %s %%, largest %s %%.\n", len(errors), len(files),
		number(score.Median(errors), 2), number(score.Upper(errors, 1), 2))
}
