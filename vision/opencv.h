#ifndef GRISTMARK_VISION_OPENCV_H
#define GRISTMARK_VISION_OPENCV_H

#ifdef __cplusplus
extern "C" {
#endif

// Pictures lie row by row without gaps. All functions write into the caller's memory and return a negative number where
// OpenCV failed.

// Reduces or enlarges 8-bit BGR.
int gv_resize(const unsigned char *bgr, int w, int h, unsigned char *out, int ow, int oh);

// Scales the part of 8-bit BGR at x, y of pw × ph px to ow × oh px, at the top left of out, fw × fh px, and repeats its right and
// lower border over the rest.
int gv_resize_part(const unsigned char *bgr, int w, int h, int x, int y, int pw, int ph, unsigned char *out, int ow, int oh,
                   int fw, int fh);

// Draws a square of 8-bit BGR and cover anew: the pixel at x, y comes to m[0] x + m[1] y + m[2], m[3] x + m[4] y + m[5]. Beyond its sides the
// colours are mirrored, and nothing is covered.
int gv_turn(const unsigned char *bgrc, int side, const double *m, unsigned char *out);

// Smooths 8-bit BGR in place by a Gaussian.
int gv_smooth(unsigned char *bgr, int w, int h, double sigma);

// Distance of each pixel to the nearest one that is 0 in mask, or with ones that is not 0; one at least must be there.
int gv_distance(const unsigned char *mask, int w, int h, int ones, float *out);

#ifdef __cplusplus
}
#endif

#endif
