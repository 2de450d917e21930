// Package rulers holds the scale that calib finds against drawn photos of every ruler: card, mat, grid, frame and
// rule, with print, camera distance, thickness, lens, light and chop drawn at random. Its camera and its drawings are
// its own: they share the card's dimensions with calib and no code that detects.
//
// Positions on the tray are mm, x right, y down as printed, heights mm above it; positions in the photo are px,
// pixel centres at +0.5.
package rulers
