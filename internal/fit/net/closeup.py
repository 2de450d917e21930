"""Fits the network by which package vision looks at each piece by itself.

Run on a machine with a GPU and PyTorch, over close-ups that internal/fit/closeup took, one or more pairs of files:

    python3 internal/fit/net/closeup.py build/closeup.npz SECONDS 9/10 build/closeup [MORE ...]
    python3 internal/fit/net/export.py closeup build/closeup.npz vision/closeup.onnx

Of every ten scenes the last is held back and reported on; K/N holds back each N-th from the K-th on. Fitted once for each K of 0/3, 1/3 and 2/3, said.py
has each network tell of the scenes that it did not see, which is what names and heights are fitted on. The seed fixes the starting weights and the order; on a GPU sums are taken in no fixed order, so
weights repeat closely, not to the bit.
"""
import math
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F

from model import CloseUp, store
from train import averaged, colour, descend, settle, slow

SEED = 20261
PX = 48
BATCH = 512
RATE = 2.5e-3
TALL = 8.0      # weight of the error of the log of the area
HUBER = 0.04    # from where it counts in proportion
TRIED = [0, 0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5, 7, 10, 14]  # gather.TriedMM
NAMES = ["whole", "broken", "stover", "foreign"]


def load(bases):
    """Close-ups (bytes, n x 48 x 48 x 4), scene, class, side in mm and errors of the area at the heights tried."""
    pix, rows, first = [], [], 0
    for base in bases:
        p = np.fromfile(base + ".pix", np.uint8).reshape(-1, PX, PX, 4)
        r = np.fromfile(base + ".f32", np.float32).reshape(len(p), -1)
        r[:, 0] += first
        first = r[:, 0].max() + 1
        pix.append(p)
        rows.append(r)
    return torch.from_numpy(np.concatenate(pix)), torch.from_numpy(np.concatenate(rows))


def planes(pix):
    """What the network is shown, 0..1 still: red, green, blue, cover."""
    return pix[..., [2, 1, 0, 3]].permute(0, 3, 1, 2).float() / 255


def shown(x, side):
    plane = torch.log2(side / 8)[:, None, None, None].expand(-1, 1, PX, PX)
    return torch.cat([x - 0.5, plane], 1)


def turned(x, side, gen):
    """Mirrored, turned, a little nearer or farther and off the middle."""
    n, d = len(x), x.device
    r = torch.rand(n, 6, generator=gen).to(d)
    a = 2 * math.pi * r[:, 0]
    zoom = torch.exp(0.25 * (r[:, 1] - 0.5))
    flip = torch.where(r[:, 2] < 0.5, 1.0, -1.0)
    c, s = torch.cos(a) * zoom, torch.sin(a) * zoom
    move = 0.12 * (r[:, 3:5] - 0.5)
    theta = torch.stack([torch.stack([c * flip, -s, move[:, 0]], 1), torch.stack([s * flip, c, move[:, 1]], 1)], 1)
    grid = F.affine_grid(theta, list(x.shape), align_corners=False)
    inside = F.grid_sample(x[:, 3:], grid, padding_mode="zeros", align_corners=False)
    rgb = F.grid_sample(x[:, :3], grid, padding_mode="reflection", align_corners=False)
    return torch.cat([rgb, inside], 1), side * zoom


def repainted(x, gen):
    """Another tray under some pieces."""
    n, d = len(x), x.device
    r = torch.rand(n, 8, generator=gen).to(d)
    col = lambda v: v[:, :, None, None]
    ground = (1 - F.avg_pool2d(x[:, 3:], 3, 1, 1)) * (r[:, 0] < 0.3)[:, None, None, None]
    rgb = x[:, :3]
    other = (rgb * col(0.4 + 1.2 * r[:, 2:5]) + col(0.35 * r[:, 5:8] - 0.12)).clamp(0, 1)
    return torch.cat([rgb + ground * (other - rgb), x[:, 3:]], 1)


def seen(pix, side, gen):
    x, side = turned(planes(pix), side, gen)
    x = repainted(x, gen)
    return shown(torch.cat([colour(255 * x[:, :3], gen), x[:, 3:]], 1), side)


def area_error(y, off):
    """Error of the log of the area with the height whose log is y."""
    tried = torch.tensor(TRIED, device=y.device)
    t = torch.exp(y.clamp(math.log(0.02), math.log(14)))
    k = (torch.searchsorted(tried, t.detach()) - 1).clamp(0, len(TRIED) - 2)
    lo, hi = off.gather(1, k[:, None])[:, 0], off.gather(1, k[:, None] + 1)[:, 0]
    return lo + (t - tried[k]) * (hi - lo) / (tried[k + 1] - tried[k])


def loss_of(z, cls, off):
    names = F.cross_entropy(z[:, :4], cls, label_smoothing=0.01)
    told = torch.isfinite(off[:, 0])
    err = area_error(z[:, 4], torch.nan_to_num(off)) * told
    return names + TALL * F.huber_loss(err, torch.zeros_like(err), delta=HUBER) / HUBER


def tell(net, pix, side, device):
    """What the network says of close-ups, n x 5."""
    net.eval()
    with torch.no_grad():
        return torch.cat([net(shown(planes(p.to(device)), s.to(device)))[:, :, 0, 0].float().cpu() for p, s in zip(pix.split(1024), side.split(1024))])


def report(z, rows):
    cls, off = rows[:, 1].long(), rows[:, 4:4 + len(TRIED)]
    said = z[:, :4].argmax(1)
    print("loss of the names %.4f, kernel against stover right %.4f" % (
        F.cross_entropy(z[:, :4], cls).item(), ((said < 2) == (cls < 2))[(cls < 3) & (said < 3)].float().mean().item()))
    print("true, named " + " ".join("%8s" % n for n in NAMES))
    for k, name in enumerate(NAMES):
        print("%-11s" % name, " ".join("%8d" % int(((cls == k) & (said == j)).sum()) for j in range(4)))
    told = torch.isfinite(off[:, 0])
    for kernel in (True, False):
        err = area_error(z[:, 4], off)[told & ((cls < 2) == kernel)].abs()
        if len(err):
            print("area of", "kernels" if kernel else "stover", "off by %.2f %% in the middle, %.2f %% at 90 %%" % (100 * err.median(), 100 * err.quantile(0.9)), flush=True)


def held_back(scene, which):
    """Whether a scene is among those that K/N names."""
    k, n = map(int, which.split("/"))
    return scene % n == k


def main(out, seconds, which, *bases):
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(SEED)
    gen = torch.Generator().manual_seed(SEED)
    began = time.time()
    pix, rows = load(bases)
    held = held_back(rows[:, 0], which)
    fitted, frows = pix[~held].to(device), rows[~held].to(device)
    cls, off, side = frows[:, 1].long(), frows[:, 4:4 + len(TRIED)], frows[:, 3]
    print("close-ups", len(fitted), "held back", int(held.sum()), flush=True)
    net = CloseUp().to(device)
    mean = averaged(net)
    opt = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=1e-3)
    step, spent = 0, 0.0
    while spent < 1:
        for at in torch.randperm(len(fitted), generator=gen).split(BATCH):
            spent = (time.time() - began) / float(seconds)
            if len(at) < BATCH or spent >= 1:
                break
            slow(opt, RATE, step, spent)
            at = at.to(device)
            loss = loss_of(net(seen(fitted[at], side[at], gen))[:, :, 0, 0], cls[at], off[at])
            descend(loss, net, opt, mean)
            step += 1
            if step % 500 == 0:
                print("step %d loss %.4f at %.0f s" % (step, loss.item(), time.time() - began), flush=True)
    print("steps", step)
    settle(mean.module, (some(fitted, side, gen, device) for _ in range(100)))
    report(tell(mean.module, pix[held], rows[held, 3], device), rows[held])
    store(mean.module, out)
    print("in %.0f s" % (time.time() - began), flush=True)


def some(pix, side, gen, device):
    at = torch.randint(len(pix), (min(BATCH, len(pix)),), generator=gen).to(device)
    return seen(pix[at], side[at], gen)


if __name__ == "__main__":
    main(*sys.argv[1:])
