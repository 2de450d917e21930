#include "opencv.h"

#include <opencv2/core.hpp>
#include <opencv2/imgproc.hpp>

namespace {

cv::Mat view(const unsigned char *bgr, int w, int h) { return cv::Mat(h, w, CV_8UC3, const_cast<unsigned char *>(bgr)); }

int how(int from, int to) { return to > from ? cv::INTER_LINEAR : cv::INTER_AREA; }

}  // namespace

int gv_resize(const unsigned char *bgr, int w, int h, unsigned char *out, int ow, int oh) try {
    const cv::Mat from = view(bgr, w, h);
    cv::Mat to = view(out, ow, oh);
    if (w == ow && h == oh) {
        from.copyTo(to);
    } else {
        cv::resize(from, to, to.size(), 0, 0, how(w, ow));
    }
    return 0;
} catch (const std::exception &) {
    return -1;
}

int gv_resize_part(const unsigned char *bgr, int w, int h, int x, int y, int pw, int ph, unsigned char *out, int ow, int oh,
                   int fw, int fh) try {
    cv::Mat small, to = view(out, fw, fh);
    cv::resize(view(bgr, w, h)(cv::Rect(x, y, pw, ph)), small, cv::Size(ow, oh), 0, 0, how(pw, ow));
    cv::copyMakeBorder(small, to, 0, fh - oh, 0, fw - ow, cv::BORDER_REPLICATE);
    return 0;
} catch (const std::exception &) {
    return -1;
}

int gv_turn(const unsigned char *bgrc, int side, const double *m, unsigned char *out) try {
    const cv::Mat from(side, side, CV_8UC4, const_cast<unsigned char *>(bgrc)), way(2, 3, CV_64FC1, const_cast<double *>(m));
    cv::Mat to(side, side, CV_8UC4, out), cover, turned;
    cv::warpAffine(from, to, way, to.size(), cv::INTER_LINEAR, cv::BORDER_REFLECT);
    cv::extractChannel(from, cover, 3);
    cv::warpAffine(cover, turned, way, to.size(), cv::INTER_LINEAR, cv::BORDER_CONSTANT);
    cv::insertChannel(turned, to, 3);
    return 0;
} catch (const std::exception &) {
    return -1;
}

int gv_smooth(unsigned char *bgr, int w, int h, double sigma) try {
    cv::Mat picture = view(bgr, w, h);
    cv::GaussianBlur(picture, picture, cv::Size(), sigma, sigma, cv::BORDER_REPLICATE);
    return 0;
} catch (const std::exception &) {
    return -1;
}

int gv_distance(const unsigned char *mask, int w, int h, int ones, float *out) try {
    const cv::Mat from(h, w, CV_8UC1, const_cast<unsigned char *>(mask));
    cv::Mat others, to(h, w, CV_32FC1, out);
    if (ones) cv::compare(from, 0, others, cv::CMP_EQ);
    cv::distanceTransform(ones ? others : from, to, cv::DIST_L2, cv::DIST_MASK_5, CV_32F);
    return 0;
} catch (const std::exception &) {
    return -1;
}
