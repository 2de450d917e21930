"""Has the built-in network tell of close-ups of scenes that it was not fitted on: python3 internal/fit/net/said.py build/names vision/closeup.onnx

It writes build/names.said: little-endian rows of six 32-bit numbers, one for each close-up in the order of build/names.f32. So the program that fits
names learns how far the network is to be believed on scenes that it does not know. Needs Debian's python3-opencv.
"""
import sys

import cv2
import torch

from closeup import load, report, tell


class BuiltIn(torch.nn.Module):
    """A network as it is built in."""

    def __init__(self, onnx):
        super().__init__()
        self.net = cv2.dnn.readNetFromONNX(onnx)

    def forward(self, x):
        self.net.setInput(x.numpy())
        return torch.from_numpy(self.net.forward().copy()).reshape(len(x), -1, 1, 1)


def main(base, onnx):
    pix, rows = load([base])
    said = tell(BuiltIn(onnx), pix, rows, "cpu")
    report(said, rows)
    said.numpy().astype("<f4").tofile(base + ".said")


if __name__ == "__main__":
    main(*sys.argv[1:])
