// Package card says where every mark of the printable rulers stands, in millimetres, and draws them.
//
// There are three sheets: a ruler card to lay on the tray, and two tray mats (A4 and A3) to work on.
// Positions are millimetres from the sheet's top left corner, x to the right, y down. A sheet is one
// list of filled shapes, from which its raster and its vector forms are both made. The package knows
// no detector.
package card
