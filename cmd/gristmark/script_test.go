package main

import (
	"encoding/binary"
	"encoding/csv"
	"errors"
	"fmt"
	"hash/crc32"
	"os"
	"os/exec"
	"strconv"
	"strings"

	"github.com/rogpeppe/go-internal/testscript"
)

// cmdStatus runs a program of the script and demands one exit status: status N program [args…].
func cmdStatus(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: status N program [args...]")
	}
	want, err := strconv.Atoi(args[0])
	ts.Check(err)
	got := 0
	if err := ts.Exec(args[1], args[2:]...); err != nil {
		var exit *exec.ExitError
		if !errors.As(err, &exit) {
			ts.Fatalf("%v", err)
		}
		got = exit.ExitCode()
	}
	if got != want {
		ts.Fatalf("exit status %d, want %d", got, want)
	}
}

// cmdCut shortens a file: cut FILE PERCENT [mend] keeps so much of it; mend puts a JPEG's end marker behind.
func cmdCut(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 2 {
		ts.Fatalf("usage: cut file percent [mend]")
	}
	path := ts.MkAbs(args[0])
	percent, err := strconv.Atoi(args[1])
	ts.Check(err)
	info, err := os.Stat(path)
	ts.Check(err)
	ts.Check(os.Truncate(path, info.Size()*int64(percent)/100))
	if len(args) > 2 {
		data := []byte(ts.ReadFile(args[0]))
		ts.Check(os.WriteFile(path, append(data, 0xff, 0xd9), 0o666))
	}
}

// cmdHugePNG writes a PNG whose header claims 40000 × 30000 px and that holds next to nothing.
func cmdHugePNG(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 1 {
		ts.Fatalf("usage: hugepng file")
	}
	header := []byte("\x00\x00\x00\x0dIHDR")
	header = binary.BigEndian.AppendUint32(header, 40000)
	header = binary.BigEndian.AppendUint32(header, 30000)
	header = append(header, 8, 2, 0, 0, 0)
	header = binary.BigEndian.AppendUint32(header, crc32.ChecksumIEEE(header[4:]))
	ts.Check(os.WriteFile(ts.MkAbs(args[0]), append([]byte("\x89PNG\r\n\x1a\n"), header...), 0o666))
}

// cmdDocument checks a measurement document against the contract, and then NAME=VALUE for the numbers of photos,
// measured, refused, duplicates, spreads and outlines, or NAME>VALUE.
func cmdDocument(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: document file [name=value...]")
	}
	facts, err := checkDocument([]byte(ts.ReadFile(args[0])))
	if err != nil {
		ts.Fatalf("%s: %v", args[0], err)
	}
	for _, want := range args[1:] {
		if err := hold(facts, want); err != nil {
			ts.Fatalf("%s: %v", args[0], err)
		}
	}
}

// cmdTable checks a CSV: table FILE [NAME=VALUE…] with the number of rows, and column:value=number of rows with that value.
func cmdTable(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) < 1 {
		ts.Fatalf("usage: table file [name=value...]")
	}
	lines, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[0]))).ReadAll()
	ts.Check(err)
	facts := map[string]int{"rows": len(lines) - 1}
	for _, line := range lines[1:] {
		for i, cell := range line {
			facts[lines[0][i]+":"+cell]++
		}
	}
	for _, want := range args[1:] {
		if err := hold(facts, want); err != nil {
			ts.Fatalf("%s: %v", args[0], err)
		}
	}
}

// hold checks "name=3" or "name>3" against the facts; a name that is not there counts 0.
func hold(facts map[string]int, want string) error {
	i := strings.LastIndexAny(want, "=>")
	if i < 0 {
		return fmt.Errorf("bad condition %q", want)
	}
	n, err := strconv.Atoi(want[i+1:])
	if err != nil {
		return err
	}
	got := facts[want[:i]]
	if want[i] == '=' && got != n || want[i] == '>' && got <= n {
		return fmt.Errorf("%s: it is %d", want, got)
	}
	return nil
}
