#ifndef GRISTMARK_CALIB_OPENCV_H
#define GRISTMARK_CALIB_OPENCV_H

#ifdef __cplusplus
extern "C" {
#endif

/* All functions return a negative number when OpenCV throws. Pictures are rows of bytes, step bytes apart. */

/* Shrinks a BGR picture by area averaging into a grey picture of ow x oh, rows without gaps; half: from two rows of
   each four or more, in less than half the time. */
int gm_shrink_grey(const unsigned char *bgr, int w, int h, int step, unsigned char *out, int ow, int oh, int half);

/* Finds markers of DICT_5X5_100 in a grey picture without gaps. Writes up to max ids, and for each
   eight numbers: its corners clockwise from its top left, OpenCV's pixel convention. Returns the count. */
int gm_find_markers(const unsigned char *grey, int w, int h, int window_min, int window_max, int window_step,
                    double min_perimeter_rate, int *ids, float *corners, int max);

/* Marks the edges in a grey picture without gaps (Canny) by 255 in one of the same size, all else by 0. Returns 0. */
int gm_find_edges(const unsigned char *grey, int w, int h, unsigned char *edges);

/* Finds straight line segments among clutter in a grey picture without gaps by the line segment detector. Writes up
   to max times four numbers: both ends, OpenCV's pixel convention. Returns the count. */
int gm_find_segments(const unsigned char *grey, int w, int h, float *ends, int max);

/* Finds the inner corners of a checkerboard of cols x rows corners in a grey picture without gaps, to a fraction
   of a px; writes two numbers each, row by row, OpenCV's pixel convention. Returns 1 if it is there, else 0. */
int gm_find_board(const unsigned char *grey, int w, int h, int cols, int rows, float *corners);

/* Calibrates a camera with square pixels from views of points of a plane. counts: points in each view; mm and px:
   two numbers a point, all views in a row. Writes focal length, centre (2), k1 k2 p1 p2 k3 to camera[8], the
   standard deviations of the same to sd[8], and each view's root mean square to rms[views]. Returns the overall
   root mean square, px, or a negative number. */
double gm_calibrate(const double *mm, const double *px, const int *counts, int views, int w, int h,
                    double *camera, double *sd, double *rms);

/* Sets the number of threads that OpenCV uses; 0 lets it run on the caller's alone. */
void gm_set_threads(int n);

#ifdef __cplusplus
}
#endif
#endif
