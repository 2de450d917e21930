#include "opencv.h"

#include <algorithm>
#include <vector>

#include <opencv2/calib3d.hpp>
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

// The mean grey of n columns of two rows each, weighed as OpenCV does.
template <int N> void mean_grey(const unsigned char *a, const unsigned char *b, unsigned char *out, int ow) {
    for (int x = 0; x < ow; x++, a += 3 * N, b += 3 * N) {
        int blue = 0, green = 0, red = 0;
#pragma GCC unroll 8
        for (int k = 0; k < N; k++) {
            blue += a[3 * k] + b[3 * k];
            green += a[3 * k + 1] + b[3 * k + 1];
            red += a[3 * k + 2] + b[3 * k + 2];
        }
        out[x] = static_cast<unsigned char>((29 * blue + 150 * green + 77 * red + 256 * N) / (512 * N));
    }
}

void shrink_rows(const unsigned char *a, const unsigned char *b, int n, unsigned char *out, int ow) {
    switch (n) {
    case 4: return mean_grey<4>(a, b, out, ow);
    case 5: return mean_grey<5>(a, b, out, ow);
    case 6: return mean_grey<6>(a, b, out, ow);
    case 7: return mean_grey<7>(a, b, out, ow);
    }
    for (int x = 0; x < ow; x++, a += 3 * n, b += 3 * n) {
        int sum = 0;
        for (int k = 0; k < n; k++)
            sum += 29 * (a[3 * k] + b[3 * k]) + 150 * (a[3 * k + 1] + b[3 * k + 1]) + 77 * (a[3 * k + 2] + b[3 * k + 2]);
        out[x] = static_cast<unsigned char>((sum + 256 * n) / (512 * n));
    }
}

}  // namespace

int gm_shrink_grey(const unsigned char *bgr, int w, int h, int step, unsigned char *out, int ow, int oh, int half) try {
    const cv::Mat in(h, w, CV_8UC3, const_cast<unsigned char *>(bgr), step);
    cv::Mat grey(oh, ow, CV_8UC1, out), small;
    const int n = h / oh;
    if (half && n > 3) {
        for (int y = 0; y < oh; y++) {  // two rows of each n, as far from the middle one
            const unsigned char *rows = bgr + static_cast<size_t>(step) * n * y;
            shrink_rows(rows + step * (n / 4), rows + step * (n - 1 - n / 4), n, out + static_cast<size_t>(ow) * y, ow);
        }
        return 0;
    }
    if (ow == w && oh == h) {
        cv::cvtColor(in, grey, cv::COLOR_BGR2GRAY);
        return 0;
    }
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

int gm_find_edges(const unsigned char *grey, int w, int h, unsigned char *edges) try {
    const cv::Mat in(h, w, CV_8UC1, const_cast<unsigned char *>(grey));
    cv::Mat out(h, w, CV_8UC1, edges);
    // The thresholds are of Sobel sums: a step of some ten grey levels counts.
    cv::Canny(in, out, 30, 60, 3);
    return 0;
} catch (...) {
    return -1;
}

int gm_find_segments(const unsigned char *grey, int w, int h, float *ends, int max) try {
    const cv::Mat in(h, w, CV_8UC1, const_cast<unsigned char *>(grey));
    std::vector<cv::Vec4f> lines;
    cv::createLineSegmentDetector(cv::LSD_REFINE_NONE, 1.0)->detect(in, lines);
    const int n = std::min<int>(max, static_cast<int>(lines.size()));
    for (int i = 0; i < n; i++)
        for (int k = 0; k < 4; k++) ends[4 * i + k] = lines[i][k];
    return n;
} catch (...) {
    return -1;
}

int gm_find_board(const unsigned char *grey, int w, int h, int cols, int rows, float *corners) try {
    const cv::Mat in(h, w, CV_8UC1, const_cast<unsigned char *>(grey));
    std::vector<cv::Point2f> found;
    const int flags = cv::CALIB_CB_ADAPTIVE_THRESH | cv::CALIB_CB_NORMALIZE_IMAGE | cv::CALIB_CB_FAST_CHECK;
    if (!cv::findChessboardCorners(in, cv::Size(cols, rows), found, flags)) return 0;
    // The window stays within the squares around a corner.
    double gap = w + h;
    for (int i = 0; i + 1 < static_cast<int>(found.size()); i++)
        if ((i + 1) % cols != 0) gap = std::min(gap, cv::norm(found[i + 1] - found[i]));
    const int half = std::max(2, std::min(15, static_cast<int>(gap / 3)));
    cv::cornerSubPix(in, found, cv::Size(half, half), cv::Size(-1, -1),
                     cv::TermCriteria(cv::TermCriteria::EPS | cv::TermCriteria::COUNT, 40, 0.001));
    for (size_t i = 0; i < found.size(); i++) {
        corners[2 * i] = found[i].x;
        corners[2 * i + 1] = found[i].y;
    }
    return 1;
} catch (...) {
    return -1;
}

double gm_calibrate(const double *mm, const double *px, const int *counts, int views, int w, int h,
                    double *camera, double *sd, double *rms) try {
    std::vector<std::vector<cv::Point3f>> object(views);
    std::vector<std::vector<cv::Point2f>> image(views);
    for (int v = 0, i = 0; v < views; v++)
        for (int k = 0; k < counts[v]; k++, i++) {
            object[v].emplace_back(mm[2 * i], mm[2 * i + 1], 0);
            image[v].emplace_back(px[2 * i], px[2 * i + 1]);
        }
    cv::Mat k = cv::Mat::eye(3, 3, CV_64F), d, sd_in, sd_ex, per_view;
    std::vector<cv::Mat> r, t;
    const double error = cv::calibrateCamera(object, image, cv::Size(w, h), k, d, r, t, sd_in, sd_ex, per_view,
                                             cv::CALIB_FIX_ASPECT_RATIO);
    camera[0] = k.at<double>(0, 0);
    camera[1] = k.at<double>(0, 2);
    camera[2] = k.at<double>(1, 2);
    for (int i = 0; i < 5; i++) camera[3 + i] = d.at<double>(i);
    // OpenCV's order: fx, fy, cx, cy, k1, k2, p1, p2, k3; with one focal length, fx carries none.
    sd[0] = std::max(sd_in.at<double>(0), sd_in.at<double>(1));
    for (int i = 1; i < 8; i++) sd[i] = sd_in.at<double>(i + 1);
    for (int v = 0; v < views; v++) rms[v] = per_view.at<double>(v);
    return error;
} catch (...) {
    return -1;
}

void gm_set_threads(int n) {
    try {
        cv::setNumThreads(n);
    } catch (...) {
    }
}
