// Package fracture breaks convex kernel bodies by planes in three dimensions, lets the pieces lie on their
// flattest side, and decides by turning them whether they pass a square mesh. The outline models of package
// kernel are fitted on its pieces and checked against them. All lengths are in mm.
package fracture
