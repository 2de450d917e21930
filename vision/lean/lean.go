// Package lean spares a program OpenCV's modules of windows, cameras, films and picture files. The bindings refer to all of them,
// and with them come some 230 libraries (Qt, GStreamer, FFmpeg, GDAL), which take longer to load than two photos of 12
// megapixels to decode. Where the program itself defines what the bindings refer to, the linker (--as-needed) leaves a module
// out.
//
// A program that imports this package may not open windows, cameras or films and may not read or write picture files with
// OpenCV: it would end there. A test sees to it.
package lean

import "C" // the stand-ins are written in C
