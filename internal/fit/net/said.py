"""Has the built-in network tell of close-ups of scenes that it was not fitted on: python3 internal/fit/net/said.py build/names vision/closeup.onnx

It writes build/names.said: little-endian rows of six 32-bit numbers, one for each close-up in the order of build/names.f32. So the program that fits
names learns how far the network is to be believed on scenes that it does not know. Needs Debian's python3-opencv.
"""
import sys

import cv2
import numpy as np
import torch

from closeup import LEAN, SIDE, load, planes, report, shown, straight


def main(base, onnx):
    pix, rows = load([base])
    net = cv2.dnn.readNetFromONNX(onnx)
    said = []
    for p, r in zip(pix.split(512), rows.split(512)):
        x, lean = straight(planes(p), r[:, LEAN])
        net.setInput(shown(x, r[:, SIDE], lean).numpy())
        said.append(net.forward().reshape(len(p), -1).copy())
    said = np.concatenate(said)
    report(torch.from_numpy(said), rows)
    said.astype("<f4").tofile(base + ".said")


if __name__ == "__main__":
    main(*sys.argv[1:])
