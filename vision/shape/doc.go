// Package shape measures outlines: closed polygons of result.XY, the last point joined to the first.
//
// Coordinates are millimetres or pixels, x to the right, y down; every length comes back in the unit
// that went in, every area in its square. Angles are radians from the x axis towards the y axis.
// Outlines may run either way round and may have any number of points: with fewer than three, or with
// points that are all on one line, areas are 0 and lengths are those of the degenerate figure. No
// function changes its arguments, and none panics on data.
//
// Names follow ISO 9276-6:2008 (quoted from memory): Feret diameters, solidity, circularity, form
// factor, geodesic length.
package shape
