package main

import (
	"context"
	"encoding/csv"
	"fmt"
	"strconv"
	"strings"

	"github.com/apache/arrow-go/v18/arrow/array"
	"github.com/apache/arrow-go/v18/arrow/memory"
	"github.com/apache/arrow-go/v18/parquet/file"
	"github.com/apache/arrow-go/v18/parquet/pqarrow"
	"github.com/rogpeppe/go-internal/testscript"
)

// cmdSameParquet reads a Parquet file with another library than the one that wrote it, and demands the columns, rows and cells of a
// CSV: sameparquet FILE.parquet FILE.csv.
func cmdSameParquet(ts *testscript.TestScript, neg bool, args []string) {
	if neg || len(args) != 2 {
		ts.Fatalf("usage: sameparquet parquet csv")
	}
	want, err := csv.NewReader(strings.NewReader(ts.ReadFile(args[1]))).ReadAll()
	ts.Check(err)
	f, err := file.OpenParquetFile(ts.MkAbs(args[0]), false)
	ts.Check(err)
	defer f.Close()
	r, err := pqarrow.NewFileReader(f, pqarrow.ArrowReadProperties{}, memory.DefaultAllocator)
	ts.Check(err)
	table, err := r.ReadTable(context.Background())
	ts.Check(err)
	defer table.Release()
	if int(table.NumCols()) != len(want[0]) || int(table.NumRows()) != len(want)-1 {
		ts.Fatalf("%d columns and %d rows, want %d and %d", table.NumCols(), table.NumRows(), len(want[0]), len(want)-1)
	}
	reader := array.NewTableReader(table, 1000)
	defer reader.Release()
	row := 0
	for reader.Next() {
		batch := reader.RecordBatch()
		for n := range int(batch.NumRows()) {
			row++
			for c, name := range want[0] {
				cell := ""
				if col := batch.Column(c); !col.IsNull(n) {
					cell = fmt.Sprint(col.GetOneForMarshal(n))
				}
				if batch.ColumnName(c) != name || !sameCell(cell, want[row][c]) {
					ts.Fatalf("row %d, %s: %q, the CSV says %s %q", row, batch.ColumnName(c), cell, name, want[row][c])
				}
			}
		}
	}
}

// sameCell compares texts, and numbers whatever their form.
func sameCell(a, b string) bool {
	x, errX := strconv.ParseFloat(a, 64)
	y, errY := strconv.ParseFloat(b, 64)
	return a == b || errX == nil && errY == nil && x == y
}
