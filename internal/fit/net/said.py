"""Has networks of close-ups tell of the scenes that they were not fitted on.

    python3 internal/fit/net/said.py build/closeup 0/3 build/part-0.npz 1/3 build/part-1.npz 2/3 build/part-2.npz

It writes build/closeup.said: little-endian rows of six 32-bit numbers, one for each close-up in the order of build/closeup.f32. So the program that fits
names learns how far a network is to be believed on scenes that it does not know, on as many scenes as there are.
"""
import sys

import torch

from closeup import held_back, load, tell
from model import CloseUp, restored


def main(base, *parts):
    device = "cuda" if torch.cuda.is_available() else "cpu"
    pix, rows = load([base])
    said = torch.full((len(rows), 6), float("nan"))
    for which, file in zip(parts[::2], parts[1::2]):
        mine = held_back(rows[:, 0], which)
        said[mine] = tell(restored(CloseUp(), file).to(device), pix[mine], rows[mine], device)
    if torch.isnan(said).any():
        sys.exit("some scenes are held back by none of the parts")
    said.numpy().astype("<f4").tofile(base + ".said")


if __name__ == "__main__":
    main(*sys.argv[1:])
