#!/usr/bin/python3
"""Times scikit-image doing load, Lab, threshold, label, regionprops on one photo.

    bench_skimage.py PHOTO TIMES

prints {"seconds": [...], "peak_mb": N} on standard output.
"""

import json
import sys
import time

import numpy as np
from skimage import color, filters, io, measure


def once(path):
    began = time.process_time()
    rgb = io.imread(path)
    lab = color.rgb2lab(rgb)
    distance = np.sqrt(((lab - np.median(lab.reshape(-1, 3), axis=0)) ** 2).sum(axis=2))
    labels = measure.label(distance > filters.threshold_otsu(distance))
    rows = [(r.area, r.centroid, r.feret_diameter_max, r.solidity, r.perimeter) for r in measure.regionprops(labels) if r.area > 100]
    return time.process_time() - began, len(rows)


def peak_mb():
    with open("/proc/self/status", encoding="ascii") as f:
        return next(int(line.split()[1]) / 1024 for line in f if line.startswith("VmHWM"))


def main():
    runs = [once(sys.argv[1]) for _ in range(int(sys.argv[2]))]
    json.dump({"seconds": [s for s, _ in runs], "regions": runs[0][1], "peak_mb": peak_mb()}, sys.stdout)


if __name__ == "__main__":
    main()
