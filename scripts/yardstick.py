#!/usr/bin/python3
"""The column to beat: a plain scikit-image chain over rendered scenes.

Distance in Lab to the median colour of the tray, Otsu's threshold, watershed from the peaks of the
distance transform, regionprops. The chain is given what gristmark must find: the true scale and the
outlines of the tray and of the printed ruler.

Reads a list of jobs as JSON from standard input:

    [{"photo": FILE, "out": FILE, "mm_per_px": N, "show": "kernels|pieces|mixed",
      "tray_px": [[x, y], ...] or null, "exclude_px": [[[x, y], ...], ...]}]

and writes for each a measurement document with the particles' outlines (positions in px, pixel
centres at +0.5), sizes in mm and, where all pieces are stover, the length classes.
"""

import json
import sys

import numpy as np
from scipy import ndimage
from skimage import color, draw, feature, filters, io, measure, morphology, segmentation

PEAK_MM = 2.5  # least distance of two watershed seeds
LEAST_MM2 = 0.8  # smaller regions are taken for noise


def mask_of(shape, polygon):
    """The pixels inside a polygon given as [x, y] with pixel centres at +0.5."""
    xy = np.asarray(polygon, float) - 0.5
    return draw.polygon2mask(shape, xy[:, ::-1])


def usable(shape, job):
    """Where the chain may look: the tray's inside without the ruler."""
    inside = np.ones(shape, bool)
    if job.get("tray_px"):
        inside = mask_of(shape, job["tray_px"])
    for polygon in job.get("exclude_px") or []:
        inside &= ~mask_of(shape, polygon)
    return inside


def segment(rgb, inside, mm_per_px):
    """Labels of the pieces on the tray."""
    lab = color.rgb2lab(rgb).astype(np.float32)
    tray = np.median(lab[inside], axis=0)
    distance = np.sqrt(((lab - tray) ** 2).sum(axis=2))
    foreground = (distance > filters.threshold_otsu(distance[inside])) & inside
    foreground = morphology.remove_small_objects(foreground, int(LEAST_MM2 / mm_per_px**2))
    foreground = ndimage.binary_fill_holes(foreground)
    depth = ndimage.distance_transform_edt(foreground)
    smooth = ndimage.gaussian_filter(depth, 0.2 / mm_per_px)
    regions = measure.label(foreground)
    peaks = feature.peak_local_max(smooth, min_distance=max(1, int(PEAK_MM / mm_per_px)), labels=regions, exclude_border=False)
    markers = np.zeros(foreground.shape, np.int32)
    markers[tuple(peaks.T)] = np.arange(1, len(peaks) + 1)
    return segmentation.watershed(-smooth, markers, mask=foreground)


def outline(region):
    """The longest contour of a region, [x, y] in px with pixel centres at +0.5."""
    contour = max(measure.find_contours(np.pad(region.image, 1).astype(float), 0.5), key=len)
    row, column = region.bbox[0], region.bbox[1]
    return [[round(c - 1 + column + 0.5, 2), round(r - 1 + row + 0.5, 2)] for r, c in contour[:-1]]


def particle(number, region, mm, show):
    """The record of one region. The chain cannot name pieces of a mixed sample."""
    area = region.area * mm * mm
    length = region.feret_diameter_max * mm
    kernel, stover = {"kernels": (1.0, 0.0), "pieces": (0.0, 1.0)}.get(show, (0.5, 0.5))
    return {
        "id": number,
        "class": {"kernels": "broken_kernel", "pieces": "stover"}.get(show, "unsure"),
        "probability": max(kernel, stover),
        "p_broken": kernel,
        "p_stover": stover,
        "at_px": [region.centroid[1] + 0.5, region.centroid[0] + 0.5],
        "length_mm": length,
        "width_mm": area / length if show == "pieces" else region.minor_axis_length * mm,
        "area_mm2": area,
        "outline_px": outline(region),
    }


def sample(particles, show):
    """Length classes and geometric mean, weighted by area."""
    if show != "pieces" or not particles:
        return None
    length = np.array([p["length_mm"] for p in particles])
    share = np.array([p["area_mm2"] for p in particles])
    share = share / share.sum()
    mean = float((share * np.log(length)).sum())
    classes = [("over_19", 19, np.inf), ("8_to_19", 8, 19), ("4_to_8", 4, 8), ("under_4", 0, 4)]
    value = float(np.exp(mean))
    return {
        "pieces": {
            "n": len(particles),
            "geometric_mean_mm": {"value": value, "low": value, "high": value, "level": 0},
            "geometric_sd": float(np.exp(np.sqrt((share * (np.log(length) - mean) ** 2).sum()))),
            "length_classes_pct": {n: float(100 * share[(length >= a) & (length < b)].sum()) for n, a, b in classes},
        }
    }


def run(job):
    rgb = io.imread(job["photo"])[..., :3]
    mm = job["mm_per_px"]
    labels = segment(rgb, usable(rgb.shape[:2], job), mm)
    regions = [r for r in measure.regionprops(labels) if r.area * mm * mm >= LEAST_MM2]
    particles = [particle(i + 1, r, mm, job["show"]) for i, r in enumerate(regions)]
    photo = {
        "file": job["photo"],
        "width_px": rgb.shape[1],
        "height_px": rgb.shape[0],
        "status": "measured",
        "scale": {"from": "given", "mm_per_px": mm},
        "particles": particles,
    }
    return {"schema": "gristmark.sample/1", "photos": [photo], "sample": sample(particles, job["show"])}


def main():
    for job in json.load(sys.stdin):
        with open(job["out"], "w", encoding="utf-8") as f:
            json.dump(run(job), f)


if __name__ == "__main__":
    main()
