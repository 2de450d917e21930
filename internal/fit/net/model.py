"""The network: a U-Net with a stride-2 stem, about a quarter of a million weights."""
import torch
from torch import nn
import torch.nn.functional as F


def block(i, o, stride=1):
    return nn.Sequential(nn.Conv2d(i, o, 3, stride, 1, bias=False), nn.BatchNorm2d(o), nn.ReLU())


class UNet(nn.Module):
    """RGB less 0.5, height and width multiples of 16, to log odds of ground, kernel, stover, contact."""

    def __init__(self):
        super().__init__()
        self.stem = nn.Sequential(block(3, 16, 2), block(16, 16))
        self.down1 = nn.Sequential(block(16, 32, 2), block(32, 32))
        self.down2 = nn.Sequential(block(32, 48, 2), block(48, 48))
        self.down3 = nn.Sequential(block(48, 64, 2), block(64, 64), block(64, 64))
        self.up2 = block(64 + 48, 48)
        self.up1 = block(48 + 32, 32)
        self.up0 = block(32 + 16, 24)
        self.head = nn.ConvTranspose2d(24, 12, 2, 2)
        self.out = nn.Conv2d(12 + 3, 4, 3, 1, 1)

    def forward(self, x):
        a = self.stem(x)
        b = self.down1(a)
        c = self.down2(b)
        d = self.down3(c)
        c = self.up2(torch.cat([F.interpolate(d, scale_factor=2.0, mode="nearest"), c], 1))
        b = self.up1(torch.cat([F.interpolate(c, scale_factor=2.0, mode="nearest"), b], 1))
        a = self.up0(torch.cat([F.interpolate(b, scale_factor=2.0, mode="nearest"), a], 1))
        return self.out(torch.cat([F.relu(self.head(a)), x], 1))
