// Package scene draws seeded photos of chopped whole-plant maize on a tray, each with its exact truth.
//
// It is the independent witness of the project: it shares the layout of card and mat with the
// detector (calib/card) and no code that detects. Pure Go.
//
// World frame: millimetres on the tray plane, x to the right, y down as in the photo, z up towards
// the camera, tray at z = 0. A piece is an outline on the plane (seen from straight above) with an upper and a
// lower surface over it; its photo is found by casting the ray of each pixel into that solid, so
// height is seen in perspective. Pixels follow the project's convention: the centre of the top left pixel lies at
// (0.5, 0.5).
//
// The same settings and seed give the same pixels whatever GOMAXPROCS. Every random number comes from PCG streams
// (math/rand/v2) or an integer hash of position. On processors whose Go compiler fuses
// multiply and add (arm64, ppc64le, s390x) single pixels may differ by one grey level; -gcflags=all=-d=fmahash=n
// switches that off.
package scene
