package main

import (
	"bytes"
	"encoding/json"
	"errors"
	"fmt"
	"os"
	"os/exec"
	"runtime"
	"slices"
	"strings"
	"syscall"
	"time"

	"gristmark/internal/result"
)

// contestant is a command that takes its turn in each round.
type contestant struct {
	Name    string
	Command []string
	Whole   bool // timed as a process, its start included, and must measure the photo

	Seconds []float64 // of processor time, one a run
	PeakMB  float64   // highest resident memory of its processes
}

// timing is what the timed parts print.
type timing struct {
	Seconds []float64 `json:"seconds"`
}

// oneThread confines everything to one processor and tells libraries so.
func oneThread(command []string) *exec.Cmd {
	if path, err := exec.LookPath("taskset"); err == nil {
		command = append([]string{path, "-c", fmt.Sprint(runtime.NumCPU() - 1)}, command...)
	}
	cmd := exec.Command(command[0], command[1:]...)
	cmd.Env = append(os.Environ(), "GOMAXPROCS=1", "OPENCV_FOR_THREADS_NUM=1", "OMP_NUM_THREADS=1", "OPENBLAS_NUM_THREADS=1", "TBB_NUM_THREADS=1")
	return cmd
}

// turn runs the command once.
func (c *contestant) turn() error {
	cmd := oneThread(c.Command)
	var out, said bytes.Buffer
	cmd.Stdout, cmd.Stderr = &out, &said
	if err := cmd.Run(); err != nil {
		return fmt.Errorf("%w: %s", err, strings.TrimSpace(said.String()))
	}
	usage, ok := cmd.ProcessState.SysUsage().(*syscall.Rusage)
	if !ok {
		return errors.New("this system does not tell what a process used")
	}
	// kB on Linux. A process starts with its parent's mark, so this program holds no photo itself.
	c.PeakMB = max(c.PeakMB, float64(usage.Maxrss)/1024)
	if c.Whole {
		c.Seconds = append(c.Seconds, used(*usage).Seconds())
		return checkMeasured(out.Bytes())
	}
	var t timing
	if err := json.Unmarshal(out.Bytes(), &t); err != nil {
		return fmt.Errorf("no timing: %w", err)
	}
	c.Seconds = append(c.Seconds, t.Seconds...)
	return nil
}

// used is the processor time of a process, user and system: on one thread the time that it takes when
// nothing else runs, whatever else runs.
func used(u syscall.Rusage) time.Duration {
	return time.Duration(u.Utime.Nano() + u.Stime.Nano())
}

// checkMeasured makes sure that the time was spent on a measurement.
func checkMeasured(document []byte) error {
	var d result.Document
	if err := json.Unmarshal(document, &d); err != nil {
		return err
	}
	if len(d.Photos) != 1 || d.Photos[0].Status != result.Measured || len(d.Photos[0].Particles) == 0 {
		return errors.New("the photo was not measured, so its time says nothing")
	}
	return nil
}

// median of the seconds.
func (c *contestant) median() float64 {
	s := slices.Sorted(slices.Values(c.Seconds))
	if len(s) == 0 {
		return 0
	}
	return (s[(len(s)-1)/2] + s[len(s)/2]) / 2
}
