// Package calib finds millimetres in a photo: from a printed card or mat, a drawn grid, a rule, a
// rectangle of known size, or a given scale; it models the tray plane and the lens.
//
// Positions in the photo are px of the upright picture, pixel centres at +0.5; OpenCV puts them at
// whole numbers, and the difference is made up where its results enter. Positions on the plane are
// mm of the ruler's own frame: x right, y down as printed.
//
// All rulers end in one fit: a pinhole camera with square pixels over a plane, its focal length,
// principal point and radial distortion held by priors as loosely as they are known, its pose free.
// The covariance of that fit is what the stated uncertainty comes from.
package calib
