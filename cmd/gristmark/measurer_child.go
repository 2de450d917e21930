package main

import (
	"bufio"
	"encoding/json"
	"fmt"
	"io"
	"strings"

	"github.com/urfave/cli/v2"

	"gristmark/calib"
	"gristmark/internal/advice"
	"gristmark/internal/pipeline"
	"gristmark/internal/result"
)

// measureChild is the hidden command that measures one photo for the server.
const measureChild = "measure-one"

func init() { register(measureChildCommand) }

func measureChildCommand() *cli.Command {
	return &cli.Command{Name: measureChild, Hidden: true, Usage: "measure one photo for the server: request and photo on standard input", Action: runMeasureChild}
}

func runMeasureChild(c *cli.Context) error {
	modest()
	in := bufio.NewReaderSize(c.App.Reader, 1<<16)
	line, err := in.ReadBytes('\n')
	if err != nil {
		return usageError(measureChild + " is for the server alone; gristmark measure measures photos")
	}
	var request measureRequest
	if err := json.Unmarshal(line, &request); err != nil {
		return usageErrorf("%s: the request cannot be read: %v", measureChild, err)
	}
	data, err := io.ReadAll(in)
	if err != nil {
		return err
	}
	answer, err := measureOne(c, request, data)
	if err != nil {
		return err
	}
	return json.NewEncoder(c.App.Writer).Encode(answer)
}

func measureOne(c *cli.Context, request measureRequest, data []byte) (*measureAnswer, error) {
	opt, _ := settingsOptions(request.Settings, "")
	if err := cameraOptions(c, &opt); err != nil {
		fmt.Fprintln(c.App.ErrWriter, "left out:", err)
	}
	if why := unusable(opt); why != "" {
		return &measureAnswer{Frame: refusedFrame(request.Name, why)}, nil
	}
	stages := pipeline.Default(programVersion())
	f, err := stages.PhotoBytes(request.Name, data, opt)
	if err != nil {
		return nil, err
	}
	answer := &measureAnswer{Frame: f}
	f.HasPicture = f.Picture != nil
	if f.HasPicture {
		outcome := stages.Sample([]*pipeline.Frame{f}, opt)
		if answer.Overlay, err = overlayJPEG(outcome, 0, f.Picture, wordsOf(c)); err != nil {
			return nil, err
		}
	}
	return answer, nil
}

// unusable says why no photo can be measured with the options; empty when it can.
func unusable(opt pipeline.Options) string {
	switch opt.Show {
	case pipeline.ShowKernels, pipeline.ShowPieces, pipeline.ShowMixed:
	default:
		return fmt.Sprintf("the load says its photos show %q; choose kernels, pieces or mixed", opt.Show)
	}
	if _, err := calib.ParseSpec(opt.Scale); err != nil {
		return strings.TrimPrefix(err.Error(), "calib: ")
	}
	if err := advice.GuardWaterTest(opt.Context.State, opt.Show); err != nil {
		return strings.TrimPrefix(err.Error(), "advice: ")
	}
	return ""
}

func refusedFrame(name, why string) *pipeline.Frame {
	return &pipeline.Frame{Photo: result.Photo{
		File: name, Status: result.Refused, Problem: &why, Checks: []result.Check{}, Particles: []result.Particle{},
	}}
}
