// Stand-ins for functions of OpenCV that the bindings refer to and nobody here calls, under the names that compilers of the
// Itanium C++ ABI give them. With another release of OpenCV a name may not fit, and that module is loaded again.

#include <stdio.h>
#include <stdlib.h>

#define UNUSED(symbol, function)                                                    \
    void symbol(void) {                                                             \
        fputs("vision: OpenCV's " function " is not part of this program\n", stderr); \
        abort();                                                                    \
    }

// Windows.
UNUSED(_ZN2cv10moveWindowERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEii, "moveWindow")
UNUSED(_ZN2cv10selectROIsERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEERKNS_11_InputArrayERSt6vectorINS_5Rect_IiEESaISD_EEbb, "selectROIs")
UNUSED(_ZN2cv11namedWindowERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEi, "namedWindow")
UNUSED(_ZN2cv12resizeWindowERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEii, "resizeWindow")
UNUSED(_ZN2cv13destroyWindowERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEE, "destroyWindow")
UNUSED(_ZN2cv14createTrackbarERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_PiiPFviPvES9_, "createTrackbar")
UNUSED(_ZN2cv14getTrackbarPosERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_, "getTrackbarPos")
UNUSED(_ZN2cv14setTrackbarMaxERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_i, "setTrackbarMax")
UNUSED(_ZN2cv14setTrackbarMinERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_i, "setTrackbarMin")
UNUSED(_ZN2cv14setTrackbarPosERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_i, "setTrackbarPos")
UNUSED(_ZN2cv14setWindowTitleERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEES7_, "setWindowTitle")
UNUSED(_ZN2cv17getWindowPropertyERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEi, "getWindowProperty")
UNUSED(_ZN2cv17setWindowPropertyERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEid, "setWindowProperty")
UNUSED(_ZN2cv6imshowERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEERKNS_11_InputArrayE, "imshow")
UNUSED(_ZN2cv7waitKeyEi, "waitKey")
UNUSED(_ZN2cv9selectROIERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEERKNS_11_InputArrayEbb, "selectROI")

// Cameras and films.
UNUSED(_ZN2cv11VideoWriter6fourccEcccc, "VideoWriter::fourcc")
UNUSED(_ZN2cv11VideoWriterC1Ev, "VideoWriter::VideoWriter")
UNUSED(_ZN2cv12VideoCaptureC1Ev, "VideoCapture::VideoCapture")

// Picture files.
UNUSED(_ZN2cv6imreadERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEEi, "imread")
UNUSED(_ZN2cv7imwriteERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEERKNS_11_InputArrayERKSt6vectorIiSaIiEE, "imwrite")
UNUSED(_ZN2cv8imdecodeERKNS_11_InputArrayEi, "imdecode")
UNUSED(_ZN2cv8imencodeERKNSt7__cxx1112basic_stringIcSt11char_traitsIcESaIcEEERKNS_11_InputArrayERSt6vectorIhSaIhEERKSB_IiSaIiEE, "imencode")
