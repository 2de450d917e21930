// Package compare says whether two samples differ, and by how much: photos against photos, or weighed shakes against
// weighed shakes. The sampling units are the photos of separate spreads and the shakes; particles of one
// photo are not independent of each other and never count as units.
package compare
