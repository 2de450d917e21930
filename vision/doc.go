// Package vision turns a photo into particles: it finds the pieces on a tray, parts those that
// touch, measures their outlines in millimetres and says what each one is.
//
// The stages run in one direction, each a function from values to values:
//
//	Photo -> work image (reduced, CIE L*a*b*) -> field (the tray's surface) -> background model
//	-> distance from the background -> mask -> components -> parts -> sub-pixel outlines
//	-> particles -> classes -> checks
//
// Positions in pixels follow package result: origin at the top left corner of the top left pixel.
package vision
