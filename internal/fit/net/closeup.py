"""Fits the network by which package vision looks at each piece by itself.

Run on a machine with a GPU and PyTorch, over close-ups that internal/fit/closeup took, one or more pairs of files:

    python3 internal/fit/net/closeup.py build/closeup.npz SECONDS 9/10 build/closeup [MORE ...]
    python3 internal/fit/net/export.py closeup vision/closeup.onnx build/closeup.npz

Of every ten scenes the last is held back and reported on; K/N holds back each N-th from the K-th on. The seed fixes the starting weights and the order; on a
GPU sums are taken in no fixed order, so weights repeat closely, not to the bit.
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
BATCH = 1024
RATE = 3.5e-3
TALL = 8.0      # weight of the error of the log of the area
HUBER = 0.04    # from where it counts in proportion
MOST_OFF = 0.8  # pixels of a close-up; package vision follows less of it
TRIED = [0, 0.15, 0.3, 0.5, 0.8, 1.2, 1.8, 2.6, 3.6, 5, 7, 10, 14]  # gather.TriedMM
SIDE, LEAN, PER_MM, DRAWN, OFF = 3, slice(4, 6), 6, 7, slice(8, 21)  # places in a row
NAMES = ["whole", "broken", "stover", "foreign"]


def load(bases):
    """Close-ups (bytes, n x 48 x 48 x 4) and their rows: see package rows."""
    pix, rows, first = [], [], 0
    for base in bases:
        p = np.fromfile(base + ".pix", np.uint8).reshape(-1, PX, PX, 4)
        r = np.fromfile(base + ".f32", np.float32).reshape(len(p), -1)[:, : OFF.stop]
        r[:, 0] += first
        first = r[:, 0].max() + 1
        pix.append(p)
        rows.append(r)
    return torch.from_numpy(np.concatenate(pix)), torch.from_numpy(np.concatenate(rows))


def planes(pix):
    """What the network is shown, 0..1 still: red, green, blue, cover."""
    return pix[..., [2, 1, 0, 3]].permute(0, 3, 1, 2).float() / 255


def shown(x, side, lean):
    flat = torch.cat([torch.log2(side / 8)[:, None], lean], 1)
    return torch.cat([x - 0.5, flat[:, :, None, None].expand(-1, -1, PX, PX)], 1)


def turned(x, lean, by, zoom, flip, move):
    """Turned so that the line of sight leans to the right, and beyond that by an angle; then nearer or farther, mirrored and off the middle. And the lean
    in what comes of it."""
    a = torch.atan2(lean[:, 1], lean[:, 0]) + by
    c, s = torch.cos(a), torch.sin(a)
    way = torch.stack([torch.stack([c, -s * flip], 1), torch.stack([s, c * flip], 1)], 1)
    grid = F.affine_grid(torch.cat([way * zoom[:, None, None], move[:, :, None]], 2), list(x.shape), align_corners=False)
    inside = F.grid_sample(x[:, 3:], grid, padding_mode="zeros", align_corners=False)
    rgb = F.grid_sample(x[:, :3], grid, padding_mode="reflection", align_corners=False)
    return torch.cat([rgb, inside], 1), (way.transpose(1, 2) @ lean[:, :, None])[:, :, 0]


def otherwise(x, lean, gen):
    """Turned as a view is, and a little otherwise each time; and by how much nearer or farther."""
    r = torch.rand(len(x), 5, generator=gen, device=x.device)
    zoom = torch.exp(0.25 * (r[:, 1] - 0.5))
    flip = torch.where(r[:, 2] < 0.5, -1.0, 1.0)
    return *turned(x, lean, 0.3 * (r[:, 0] - 0.5), zoom, flip, 0.12 * (r[:, 3:5] - 0.5)), zoom


def straight(x, lean):
    """Turned as a view is."""
    none, once = torch.zeros_like(lean), torch.ones_like(lean[:, 0])
    return turned(x, lean, none[:, 0], once, once, none)


def repainted(x, gen):
    """Another tray under some pieces: another colour, and in some the grain of what lies round another piece."""
    n, d = len(x), x.device
    r = torch.rand(n, 9, generator=gen, device=d)
    col = lambda v: v[:, :, None, None]
    ground = (1 - F.avg_pool2d(x[:, 3:], 3, 1, 1)) * (r[:, 0] < 0.35)[:, None, None, None]
    rgb = x[:, :3]
    grain = rgb.roll(1, 0)
    grain = (grain / grain.mean((1, 2, 3), keepdim=True).clamp(min=0.05)).clamp(0.3, 2)
    other = torch.where((r[:, 8] < 0.4)[:, None, None, None], rgb * grain, rgb)
    other = (other * col(0.4 + 1.2 * r[:, 2:5]) + col(0.35 * r[:, 5:8] - 0.12)).clamp(0, 1)
    return torch.cat([rgb + ground * (other - rgb), x[:, 3:]], 1)


def seen(pix, rows, gen):
    """What the network is shown for close-ups, and the sides of that, mm."""
    x, lean, zoom = otherwise(planes(pix), rows[:, LEAN], gen)
    side = rows[:, SIDE] * zoom
    x = repainted(x, gen)
    return shown(torch.cat([colour(255 * x[:, :3], gen), x[:, 3:]], 1), side, lean), side


def area_error(y, off):
    """Error of the log of the area with the height whose log is y."""
    tried = torch.tensor(TRIED, device=y.device)
    t = torch.exp(y.clamp(math.log(0.02), math.log(14)))
    k = (torch.searchsorted(tried, t.detach()) - 1).clamp(0, len(TRIED) - 2)
    lo, hi = off.gather(1, k[:, None])[:, 0], off.gather(1, k[:, None] + 1)[:, 0]
    return lo + (t - tried[k]) * (hi - lo) / (tried[k + 1] - tried[k])


def drawn(z, rows, side):
    """By how much the log of the area inside the outline is too large, as the network says."""
    return z[:, 5].clamp(-MOST_OFF, MOST_OFF) * side / PX * rows[:, PER_MM]


def loss_of(z, rows, side):
    names = F.cross_entropy(z[:, :4], rows[:, 1].long(), label_smoothing=0.01)
    told = torch.isfinite(rows[:, DRAWN])
    own = drawn(z, rows, side)
    off = lambda err: F.huber_loss(err * told, torch.zeros_like(err), delta=HUBER) / HUBER
    area = off(area_error(z[:, 4], torch.nan_to_num(rows[:, OFF])) - own)
    return names + TALL * (area + off(torch.nan_to_num(rows[:, DRAWN]) - own))


def tell(net, pix, rows, device):
    """What the network says of close-ups, n x 6."""

    def one(p, r):
        x, lean = straight(planes(p), r[:, LEAN])
        return net(shown(x, r[:, SIDE], lean))[:, :, 0, 0].float().cpu()

    net.eval()
    with torch.no_grad():
        return torch.cat([one(p.to(device), r.to(device)) for p, r in zip(pix.split(1024), rows.split(1024))])


def report(z, rows):
    cls = rows[:, 1].long()
    said = z[:, :4].argmax(1)
    print("loss of the names %.4f, kernel against stover right %.4f" % (
        F.cross_entropy(z[:, :4], cls).item(), ((said < 2) == (cls < 2))[(cls < 3) & (said < 3)].float().mean().item()))
    print("true, named " + " ".join("%8s" % n for n in NAMES))
    for k, name in enumerate(NAMES):
        print("%-11s" % name, " ".join("%8d" % int(((cls == k) & (said == j)).sum()) for j in range(4)))
    own = drawn(z, rows, rows[:, SIDE])
    for what, err in ("outline", rows[:, DRAWN]), ("  less what is said", rows[:, DRAWN] - own), ("area", area_error(z[:, 4], rows[:, OFF]) - own):
        for name, kind in ("kernels", cls < 2), ("stover", cls == 2):
            e = err[kind & torch.isfinite(err)].abs()
            if len(e):
                print("%-20s %s off by %.2f %% in the middle, %.2f %% at 90 %%" % (what, name, 100 * e.median(), 100 * e.quantile(0.9)), flush=True)


def held_back(scene, which):
    """Whether a scene is among those that K/N names."""
    k, n = map(int, which.split("/"))
    return scene % n == k


def main(out, seconds, which, *bases):
    device = "cuda" if torch.cuda.is_available() else "cpu"
    torch.manual_seed(SEED)
    gen = torch.Generator(device).manual_seed(SEED)
    began = time.time()
    pix, rows = load(bases)
    held = held_back(rows[:, 0], which)
    fitted, frows = pix[~held].to(device), rows[~held].to(device)
    print("close-ups", len(fitted), "held back", int(held.sum()), flush=True)
    net = CloseUp().to(device)
    mean = averaged(net)
    opt = torch.optim.AdamW(net.parameters(), lr=RATE, weight_decay=1e-3)
    step, spent = 0, 0.0
    while spent < 1:
        for at in torch.randperm(len(fitted), generator=gen, device=device).split(BATCH):
            spent = (time.time() - began) / float(seconds)
            if len(at) < BATCH or spent >= 1:
                break
            slow(opt, RATE, step, spent)
            x, side = seen(fitted[at], frows[at], gen)
            loss = loss_of(net(x)[:, :, 0, 0], frows[at], side)
            descend(loss, net, opt, mean)
            step += 1
            if step % 500 == 0:
                print("step %d loss %.4f at %.0f s" % (step, loss.item(), time.time() - began), flush=True)
    print("steps", step)
    settle(mean.module, (some(fitted, frows, gen, device) for _ in range(100)))
    report(tell(mean.module, pix[held], rows[held], device), rows[held])
    store(mean.module, out)
    print("in %.0f s" % (time.time() - began), flush=True)


def some(pix, rows, gen, device):
    at = torch.randint(len(pix), (min(BATCH, len(pix)),), generator=gen, device=device)
    return seen(pix[at], rows[at], gen)[0]


if __name__ == "__main__":
    main(*sys.argv[1:])
