#include "opencv.h"

#include <algorithm>
#include <vector>

#include <opencv2/core.hpp>
#include <opencv2/core/version.hpp>
#include <opencv2/imgproc.hpp>

#if CV_VERSION_MAJOR > 4 || (CV_VERSION_MAJOR == 4 && CV_VERSION_MINOR >= 7)
#define GM_ARUCO_CLASS 1
#include <opencv2/objdetect/aruco_detector.hpp>
#else
#include <opencv2/aruco.hpp>
#endif

namespace {

template <class P> void set(P &p, int window_min, int window_max, int window_step, double min_perimeter_rate) {
    p.adaptiveThreshWinSizeMin = window_min;
    p.adaptiveThreshWinSizeMax = window_max;
    p.adaptiveThreshWinSizeStep = window_step;
    p.minMarkerPerimeterRate = min_perimeter_rate;
    p.polygonalApproxAccuracyRate = 0.05;
    p.minDistanceToBorder = 1;
    p.minMarkerDistanceRate = 0.03;
}

}  // namespace

int gm_shrink_grey(const unsigned char *bgr, int w, int h, int step, unsigned char *out, int ow, int oh) try {
    const cv::Mat in(h, w, CV_8UC3, const_cast<unsigned char *>(bgr), step);
    cv::Mat grey(oh, ow, CV_8UC1, out);
    if (ow == w && oh == h) {
        cv::cvtColor(in, grey, cv::COLOR_BGR2GRAY);
        return 0;
    }
    cv::Mat small;
    cv::resize(in, small, cv::Size(ow, oh), 0, 0, cv::INTER_AREA);
    cv::cvtColor(small, grey, cv::COLOR_BGR2GRAY);
    return 0;
} catch (...) {
    return -1;
}

int gm_find_markers(const unsigned char *grey, int w, int h, int window_min, int window_max, int window_step,
                    double min_perimeter_rate, int *ids, float *corners, int max) try {
    const cv::Mat in(h, w, CV_8UC1, const_cast<unsigned char *>(grey));
    std::vector<std::vector<cv::Point2f>> found;
    std::vector<int> names;
#ifdef GM_ARUCO_CLASS
    cv::aruco::DetectorParameters p;
    set(p, window_min, window_max, window_step, min_perimeter_rate);
    cv::aruco::ArucoDetector(cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_100), p).detectMarkers(in, found, names);
#else
    auto p = cv::aruco::DetectorParameters::create();
    set(*p, window_min, window_max, window_step, min_perimeter_rate);
    cv::aruco::detectMarkers(in, cv::aruco::getPredefinedDictionary(cv::aruco::DICT_5X5_100), found, names, p);
#endif
    const int n = std::min<int>(max, static_cast<int>(names.size()));
    for (int i = 0; i < n; i++) {
        ids[i] = names[i];
        for (int k = 0; k < 4; k++) {
            corners[8 * i + 2 * k] = found[i][k].x;
            corners[8 * i + 2 * k + 1] = found[i][k].y;
        }
    }
    return n;
} catch (...) {
    return -1;
}

int gm_find_segments(const unsigned char *grey, int w, int h, float *ends, int max) try {
    const cv::Mat in(h, w, CV_8UC1, const_cast<unsigned char *>(grey));
    std::vector<cv::Vec4f> lines;
    // No further reduction, no refinement: the ends serve as a start only.
    cv::createLineSegmentDetector(cv::LSD_REFINE_NONE, 1.0)->detect(in, lines);
    const int n = std::min<int>(max, static_cast<int>(lines.size()));
    for (int i = 0; i < n; i++)
        for (int k = 0; k < 4; k++) ends[4 * i + k] = lines[i][k];
    return n;
} catch (...) {
    return -1;
}

void gm_set_threads(int n) {
    try {
        cv::setNumThreads(n);
    } catch (...) {
    }
}
