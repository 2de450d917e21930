"""The U-Net's last two layers, which work at full size, worked out at half of it: OpenCV takes nine tenths of the time for them then and less memory, and each number
is the same but for the order of sums."""
import torch
from torch import nn
import torch.nn.functional as F

STEPS = [(d, u, v) for d in range(4) for u in (-1, 0, 1) for v in (-1, 0, 1)]  # of a pixel of a square of two by two, to those around it


class Halved(nn.Module):
    """A UNet without norms, to 20 numbers of each square of two by two pixels: each of its five, of the square's four pixels, row by row."""

    def __init__(self, net):
        super().__init__()
        self.net = net
        self.near, self.far, self.seen = nn.Conv2d(16, 32, 1), nn.Conv2d(32, 20, 3, 1, 1), nn.Conv2d(3, 20, 4, 2, 1, bias=False)
        with torch.no_grad():
            self.near.weight.copy_(net.head.weight.permute(1, 2, 3, 0).reshape(32, 16, 1, 1))
            self.near.bias.copy_(net.head.bias.repeat_interleave(4))
            self.far.bias.copy_(net.out.bias.repeat_interleave(4))
            for layer in self.far, self.seen:
                layer.weight.zero_()
            for d, u, v in STEPS:
                far, seen = places(self.far.weight, self.seen.weight, d, u, v)
                far.copy_(net.out.weight[:, :8, u + 1, v + 1])
                seen.copy_(net.out.weight[:, 8:, u + 1, v + 1])

    def forward(self, x):
        return self.far(F.relu(self.near(self.net.before(x)))) + self.seen(x)


def places(far, seen, d, u, v):
    """Where the weights lie that lead from the pixel u down and v to the right of pixel d of a square to that pixel: of what was drawn twice as large (5 x 8) and of
    the picture (5 x 3)."""
    y, x = d // 2 + u, d % 2 + v
    return far[d::4, 2 * (y % 2) + x % 2 :: 4, y // 2 + 1, x // 2 + 1], seen[d::4, :, y + 1, x + 1]


def whole(stored):
    """The weights of a UNet, by their names, of those that Halved has."""
    out = torch.zeros(5, 11, 3, 3)
    for d, u, v in STEPS:
        far, seen = places(stored["far.weight"], stored["seen.weight"], d, u, v)
        out[:, :8, u + 1, v + 1], out[:, 8:, u + 1, v + 1] = far, seen
    some = {name[len("net."):]: w for name, w in stored.items() if name.startswith("net.")}
    head = stored["near.weight"].reshape(8, 2, 2, 16).permute(3, 0, 1, 2)
    return {**some, "head.weight": head, "head.bias": stored["near.bias"][::4], "out.weight": out, "out.bias": stored["far.bias"][::4]}
