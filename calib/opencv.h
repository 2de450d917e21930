#ifndef GRISTMARK_CALIB_OPENCV_H
#define GRISTMARK_CALIB_OPENCV_H

#ifdef __cplusplus
extern "C" {
#endif

/* All functions return a negative number when OpenCV throws. Pictures are rows of bytes, step bytes apart. */

/* Shrinks a BGR picture by area averaging into a grey picture of ow x oh, rows without gaps. */
int gm_shrink_grey(const unsigned char *bgr, int w, int h, int step, unsigned char *out, int ow, int oh);

/* Finds markers of DICT_5X5_100 in a grey picture without gaps. Writes up to max ids, and for each
   eight numbers: its corners clockwise from its top left, OpenCV's pixel convention. Returns the count. */
int gm_find_markers(const unsigned char *grey, int w, int h, int window_min, int window_max, int window_step,
                    double min_perimeter_rate, int *ids, float *corners, int max);

/* Finds straight line segments in a grey picture without gaps, the lighter side on their right. Writes up
   to max times four numbers: both ends, OpenCV's pixel convention. Returns the count. */
int gm_find_segments(const unsigned char *grey, int w, int h, float *ends, int max);

/* Sets the number of threads that OpenCV uses; 0 lets it run on the caller's alone. */
void gm_set_threads(int n);

#ifdef __cplusplus
}
#endif
#endif
