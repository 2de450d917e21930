// Package kernel turns outlines of kernel pieces, seen from above, into mass and into the share of the kernel mass that
// passes a square mesh of 4.75 mm.
//
// # Thickness
//
// A photo shows length and width, not thickness. An unbroken kernel lies flat: its thickness is that of the
// crop's kernel, 4.6 mm with a standard deviation of 0.7 mm unless told otherwise (mean 4.57 mm: Sezer et al., Afr. J.
// Biotechnol.; spread from memory). A broken piece lies on its flattest side, so it is at most as thick as it is wide, and
// never much thicker than the kernel it came from. Its mean thickness is taken as
//
//	t(w) = w * (0.59 + 0.10 min(u, 1)) / (1 + (u/1.8)^5)^(1/5),  u = w / T
//
// with w its smallest Feret diameter and T the kernel's thickness, and a standard deviation of 0.28 t from piece to piece. No measured
// source is known to us. Two witnesses give the numbers: kernels broken by planes in space (package fracture; go run ./internal/kernel/fit
// prints the table), and the tray renderer's plates with rounded edges, whose small pieces are a quarter thicker. Rolls press a flat kernel
// through its thickness, and brittle bodies pressed so split along the pressure: two thirds of the breaks in space are taken as upright faces,
// the others as of any direction. Between none and all upright the mean goes from 0.6 to 0.7 of the width, the
// corner exponent below from 1.75 to 1.4, the form factor by a tenth either way: the doubt Upright moves the three together.
//
// # Mass
//
// mass = density * area * thickness * form factor. Density 1.258 g/cm3 (US maize quality report 2016/17; range 1.16 to
// 1.32; it cancels in shares). Form factor, volume over area times thickness: 0.75 for an unbroken kernel, 0.66 + 0.11 a for a
// piece of a times the unbroken area. Small splinters from planes in space have 0.5, small rounded plates 0.8, an ellipsoid 2/3: the doubt Blunt reaches from one to the other.
// An unbroken kernel of the default size then weighs about 0.26 g, inside the published 214 to 293 g per 1000 (Darfour 2022, Int. J. Food Prop.).
//
// # Passage
//
// A piece passes a square hole of side s when it can be turned to fit it. It goes through end-on, so its length does not
// matter; its cross-section w x t does. With the corners of the cross-section rounded as a superellipse the section fits
// straight when w <= s, and turned by 45 degrees when
//
//	(w^q + t^q)^(1/q) <= s * sqrt 2
//
// q = 1 is a sharp rectangle (Carver 1957, Math. Mag. 30:191, for rectangles in rectangles; from memory), q = 2 an ellipse. Between the two
// straight and diagonal remain the best positions. Pieces turned in space agree best with q = 1.5
// (5 % of pieces judged otherwise, nearly all between 4.75 and 6 mm wide). As t is known with a spread, the rule gives a probability; as thick pieces weigh more
// and pass less, the passing mass is the partial expectation of t below the limit. An unbroken kernel, 7.3 x 4.6 mm, does not pass.
//
// Mass is not starch, and fines that were washed off are not seen: the figure is an estimate from outlines.
package kernel
