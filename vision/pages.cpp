// Memory of pictures in large pages. A measurement touches a few hundred MB once, mostly in pictures of tens of MB; in pages of
// 4 kB the system hands them over in some hundred thousand steps, which take as long as much of the work on them.

#include <opencv2/core.hpp>

#ifdef __linux__
#include <sys/mman.h>

#include <cstdint>

namespace {

constexpr std::uintptr_t page = 2 << 20;

// OpenCV's own allocator, which advises the system to use large pages for what is larger than a few of them.
class LargePages : public cv::MatAllocator {
    cv::MatAllocator *const own = cv::Mat::getStdAllocator();

   public:
    cv::UMatData *allocate(int dims, const int *sizes, int type, void *data, size_t *step, cv::AccessFlag flags,
                           cv::UMatUsageFlags usage) const override {
        cv::UMatData *u = own->allocate(dims, sizes, type, data, step, flags, usage);
        if (u && !data) advise(u->data, u->size);
        return u;
    }
    bool allocate(cv::UMatData *u, cv::AccessFlag flags, cv::UMatUsageFlags usage) const override { return own->allocate(u, flags, usage); }
    void deallocate(cv::UMatData *u) const override { own->deallocate(u); }

   private:
    static void advise(unsigned char *data, size_t size) {
        const std::uintptr_t at = reinterpret_cast<std::uintptr_t>(data);
        const std::uintptr_t first = (at + page - 1) / page * page, end = (at + size) / page * page;
        if (first < end) madvise(reinterpret_cast<void *>(first), end - first, MADV_HUGEPAGE);  // advice only: refused is as well
    }
};

const bool installed = [] {
    static LargePages pages;
    cv::Mat::setDefaultAllocator(&pages);
    return true;
}();

}  // namespace
#endif
