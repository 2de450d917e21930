#include "jpeg.h"

#include <setjmp.h>
#include <stdio.h>
#include <stdlib.h>

#include <jpeglib.h>

struct failure {
    struct jpeg_error_mgr base;
    jmp_buf out;
};

static void fail(j_common_ptr c) { longjmp(((struct failure *)c->err)->out, 1); }

// Warnings are no failures: what is missing is told by the file's markers and by the picture.
static void keep_quiet(j_common_ptr c, int level) {
    (void)c;
    (void)level;
}

static void begin(struct jpeg_decompress_struct *c, struct failure *f, const unsigned char *data, size_t n) {
    c->err = jpeg_std_error(&f->base);
    f->base.error_exit = fail;
    f->base.emit_message = keep_quiet;
    jpeg_create_decompress(c);
    jpeg_mem_src(c, data, n);
    jpeg_read_header(c, TRUE);
}

int gv_jpeg_size(const unsigned char *data, size_t n, int *width, int *height) {
    struct jpeg_decompress_struct c = {0};
    struct failure f;
    if (setjmp(f.out)) {
        jpeg_destroy_decompress(&c);
        return -1;
    }
    begin(&c, &f, data, n);
    *width = (int)c.image_width;
    *height = (int)c.image_height;
    jpeg_destroy_decompress(&c);
    return 0;
}

// One row of inverted CMYK, as cameras' programs store it, to BGR in place; both begin at the same place.
static void cmyk_to_bgr(const unsigned char *cmyk, unsigned char *bgr, int width) {
    for (int x = 0; x < width; x++, cmyk += 4, bgr += 3) {
        const int k = cmyk[3];
        for (int i = 0; i < 3; i++) bgr[2 - i] = (unsigned char)(k - ((255 - cmyk[i]) * k >> 8));
    }
}

int gv_jpeg_decode(const unsigned char *data, size_t n, unsigned char *bgr, int width, int height) {
    struct jpeg_decompress_struct c = {0};
    struct failure f;
    unsigned char *volatile four = NULL;
    if (setjmp(f.out)) {
        jpeg_destroy_decompress(&c);
        free(four);
        return -1;
    }
    begin(&c, &f, data, n);
    c.out_color_space = c.num_components == 4 ? JCS_CMYK : JCS_EXT_BGR;
    if (c.num_components == 4 && !(four = malloc((size_t)width * 4))) fail((j_common_ptr)&c);
    jpeg_start_decompress(&c);
    if ((int)c.output_width != width || (int)c.output_height != height) fail((j_common_ptr)&c);
    while (c.output_scanline < c.output_height) {
        unsigned char *const to = bgr + (size_t)c.output_scanline * 3 * width;
        JSAMPROW row = four ? four : to;
        if (jpeg_read_scanlines(&c, &row, 1) == 1 && four) cmyk_to_bgr(four, to, width);
    }
    jpeg_finish_decompress(&c);
    jpeg_destroy_decompress(&c);
    free(four);
    return 0;
}
