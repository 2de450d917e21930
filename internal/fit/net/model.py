"""The networks: a U-Net with a stride-2 stem, half a million weights, most of them where the picture is small, and one that looks at
a piece by itself, a third of a million."""
import numpy as np
import torch
from torch import nn
import torch.nn.functional as F


def block(i, o, stride=1, size=3):
    return nn.Sequential(nn.Conv2d(i, o, size, stride, size // 2, bias=False), nn.BatchNorm2d(o), nn.ReLU())


def double(x):
    return F.interpolate(x, scale_factor=2.0, mode="nearest")


class UNet(nn.Module):
    """RGB less 0.5, height and width multiples of 16, to log odds of ground, whole kernel, broken kernel and stover, of
    which one holds, and of contact between two pieces, which holds or not beside them."""

    def __init__(self):
        super().__init__()
        self.stem = block(3, 16, 2)
        self.down1 = nn.Sequential(block(16, 32, 2), block(32, 32))
        self.down2 = nn.Sequential(block(32, 64, 2), block(64, 64))
        self.down3 = nn.Sequential(block(64, 96, 2), block(96, 96), block(96, 96))
        self.thin3 = block(96, 48, 1, 1)
        self.up2 = nn.Sequential(block(48 + 64, 64), block(64, 32, 1, 1))
        self.up1 = nn.Sequential(block(32 + 32, 32), block(32, 16, 1, 1))
        self.up0 = block(16 + 16, 16)
        self.head = nn.ConvTranspose2d(16, 8, 2, 2)
        self.out = nn.Conv2d(8 + 3, 5, 3, 1, 1)

    def forward(self, x):
        return self.out(torch.cat([F.relu(self.head(self.before(x))), x], 1))

    def before(self, x):
        """What comes before the last two layers, at half the size."""
        a = self.stem(x)
        b = self.down1(a)
        c = self.down2(b)
        d = self.thin3(self.down3(c))
        c = self.up2(torch.cat([double(d), c], 1))
        b = self.up1(torch.cat([double(c), b], 1))
        return self.up0(torch.cat([double(b), a], 1))


class CloseUp(nn.Module):
    """A close-up of 48 x 48 pixels (RGB and what the piece covers, less 0.5, the log of its side and how the line of sight leans, to the right and
    down) to log odds of whole kernel, broken kernel, stover and foreign matter, the log of the piece's height above the tray, mm, and by how many
    pixels of the close-up its outline lies too far out. The first that was fitted had wide 96 and no place."""

    def __init__(self, wide=128, place=64):
        super().__init__()
        self.body = nn.Sequential(block(7, 24, 2), block(24, 32), block(32, 48, 2), block(48, 64), block(64, wide, 2), block(wide, wide))
        self.pool = nn.AdaptiveAvgPool2d(1)
        if place:
            self.where = nn.Sequential(block(wide, 24, 1, 1), nn.Sequential(nn.Conv2d(24, place, 6, bias=False), nn.BatchNorm2d(place), nn.ReLU()))
        self.forget = nn.Dropout(0.2)
        self.out = nn.Conv2d(wide + place, 6, 1)

    def forward(self, x):
        a = self.body(x)
        seen = [self.pool(a), self.where(a)] if hasattr(self, "where") else [self.pool(a)]
        return self.out(self.forget(torch.cat(seen, 1)))


class Sum(nn.Module):
    """What several networks say, added up."""

    def __init__(self, nets):
        super().__init__()
        self.nets = nn.ModuleList(nets)

    def forward(self, x):
        said = self.nets[0](x)
        for net in self.nets[1:]:
            said = said + net(x)
        return said


def store(net, file):
    np.savez(file, **{k: v.float().cpu().numpy() for k, v in net.state_dict().items()})


def restored(net, file):
    """The net with the weights that store wrote."""
    stored = np.load(file)
    net.load_state_dict({k: torch.from_numpy(np.asarray(stored[k])) for k in stored.files})
    return net
