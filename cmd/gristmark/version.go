package main

import "runtime/debug"

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
