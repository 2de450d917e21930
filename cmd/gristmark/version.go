package main

import (
	"os"
	"runtime/debug"
)

// version is set by the linker for a release: -ldflags "-X main.version=1.2.3".
var version = "0.1.0"

// programVersion names the program's version and, where the build knows it, the revision.
func programVersion() string {
	info, ok := debug.ReadBuildInfo()
	if !ok {
		return version
	}
	for _, s := range info.Settings {
		if s.Key == "vcs.revision" && len(s.Value) >= 12 {
			return version + "+" + s.Value[:12]
		}
	}
	return version
}

// buildID tells builds apart exactly enough to reuse what another run measured: the version, and for a build of
// changed sources the program file's time too.
func buildID() string {
	id := programVersion()
	info, ok := debug.ReadBuildInfo()
	if ok {
		for _, s := range info.Settings {
			if s.Key == "vcs.modified" && s.Value == "false" {
				return id
			}
		}
	}
	if path, err := os.Executable(); err == nil {
		if stat, err := os.Stat(path); err == nil {
			id += stat.ModTime().UTC().Format(" 20060102150405.000000000")
		}
	}
	return id
}
