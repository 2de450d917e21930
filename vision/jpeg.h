#ifndef GRISTMARK_VISION_JPEG_H
#define GRISTMARK_VISION_JPEG_H

#include <stddef.h>

// Size of the picture that a JPEG file holds, px, from its header; 0 when it was read.
int gv_jpeg_size(const unsigned char *data, size_t n, int *width, int *height);

// Decodes a JPEG file into 8-bit BGR without gaps, width × height as gv_jpeg_size said; 0 when it was decoded.
int gv_jpeg_decode(const unsigned char *data, size_t n, unsigned char *bgr, int width, int height);

#endif
