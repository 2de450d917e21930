package main

import (
	"os"
	"path/filepath"
	"strings"
	"testing"
)

func TestChessboards(t *testing.T) {
	folder := t.TempDir()
	if text := chessboards("nothing", folder); !strings.Contains(text, "absent") {
		t.Error(text)
	}
	if err := os.WriteFile(filepath.Join(folder, "left01.jpg"), nil, 0o644); err != nil {
		t.Fatal(err)
	}
	if text := chessboards(fake(t, "echo no board >&2; exit 3"), folder); !strings.Contains(text, "no profile") || !strings.Contains(text, "no board") {
		t.Error(text)
	}
	// Options come in the order --board, --square, --out FILE.
	text := chessboards(fake(t, `echo '{"focal_x_px":541.27516,"centre_x_px":342.783,"centre_y_px":237.071}' > "$7"
echo "left01.jpg: 54 points, 0.19 px"; echo "focal length 541.3 px, 0.18 px over all"`), folder)
	for _, want := range []string{"| views read | 13 | 1 |", "| 535.9 | 541.3 | +1.00 % |", "| 342.3 | 342.3 | +0.0 px |", "| 235.6 | 236.6 | +1.0 px |", "| 0.39 | 0.18 |"} {
		if !strings.Contains(text, want) {
			t.Errorf("%q is missing in\n%s", want, text)
		}
	}
}
