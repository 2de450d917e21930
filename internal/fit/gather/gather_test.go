package gather

import (
	"errors"
	"fmt"
	"os"
	"path/filepath"
	"slices"
	"testing"
)

// What is told of each scene comes in the scenes' order; an empty folder and a scene that cannot be read are errors.
func TestScenes(t *testing.T) {
	dir := t.TempDir()
	one := func(file string, i int) ([]string, error) { return []string{fmt.Sprint(i, filepath.Base(file))}, nil }
	if _, _, err := Scenes(dir, one); err == nil {
		t.Error("an empty folder gives no error")
	}
	var want []string
	for i := range 9 {
		name := fmt.Sprintf("scene-%d.truth.json", i)
		want = append(want, fmt.Sprint(i, name))
		if err := os.WriteFile(filepath.Join(dir, name), nil, 0o600); err != nil {
			t.Fatal(err)
		}
	}
	got, n, err := Scenes(dir, one)
	if err != nil || n != 9 || !slices.Equal(got, want) {
		t.Errorf("%d scenes, %q, %v; want %q", n, got, err, want)
	}
	bad := errors.New("bad")
	if _, _, err := Scenes(dir, func(_ string, i int) ([]int, error) {
		if i == 4 {
			return nil, bad
		}
		return nil, nil
	}); !errors.Is(err, bad) {
		t.Errorf("a scene that cannot be read gives %v", err)
	}
}

// Every fourth scene is set apart whole, whatever was found in it.
func TestApart(t *testing.T) {
	train, rest := Apart([]int{0, 1, 2, 3, 3, 4, 7, 8}, func(scene int) int { return scene })
	if !slices.Equal(train, []int{0, 1, 2, 4, 8}) || !slices.Equal(rest, []int{3, 3, 7}) {
		t.Errorf("to learn from %v, to check %v", train, rest)
	}
}
