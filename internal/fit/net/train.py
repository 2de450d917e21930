"""Fits the network by which package vision tells ground, whole and broken kernel, stover and contact apart.

Run on a machine with a GPU and PyTorch, over scenes rendered with their masks:

    internal/fit/net/render.sh build/render build/net families 0 22 1600 400
    internal/fit/net/render.sh build/render build/net wild 0 4000 1600 400
    python3 internal/fit/net/train.py build/net build/net.npz SECONDS [START.npz or START.onnx [RATE]]
    python3 internal/fit/net/export.py net vision/net.onnx build/net.npz

vision/net.onnx was fitted three times in a row on one H100, each fit starting from the last one's weights, while more scenes
were drawn: 305 s on 521 scenes with contact weighed 3, 560 s on 1285, 535 s on 1853 at a rate of 0.0024. 22,200 steps in all. Then 330 s, 5,900 steps, on an
H200 over 416 scenes, 190 of them odd, at 0.002; what is built in is the mean of the weights before and after: the last fit alone told yellow trays better, but
lost faint pieces and parted crossing ones worse.

The seed below fixes the starting weights and the order of the crops; on a GPU sums are taken in no
fixed order, so weights repeat closely, not to the bit. Only wild scenes and seeds that nothing is reported on are read.
"""
import glob
import json
import math
import multiprocessing.pool
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image

from carry import carried
from model import UNet, restored, store

SEED = 20260
CROP = 384
BATCH = 32
RATE = 3e-3
PX_PER_MM = (2.0, 5.0)  # of the crops, even in the logarithm
FINER = 1.15            # than the scene, at most
ON_PIECE = 0.8          # share of the crops about a piece; the others lie anywhere
CONTACT_MM = 0.45       # pixels this near to two pieces are contact between them; at least next to both
# ground, whole kernel, broken kernel, stover: straws are thin and would drown otherwise
WEIGHT = [0.8, 1.0, 1.0, 1.2]
CONTACT = 10.0 # weight of contact where there is some
KEEP = 0.999   # of the mean of the weights, each step


def read(path):
    """A scene: pixels (red, green, blue and class, a byte each), labels, px per mm, and where things lie."""
    truth = json.load(open(path))
    base = path[: -len(".truth.json")]
    try:
        rgb = np.asarray(Image.open(base + ".jpg").convert("RGB"))
        label = np.asarray(Image.open(base + ".labels.png")).astype(np.int16)
        cls = np.asarray(Image.open(base + ".classes.png"))
    except OSError:
        return None  # still being written
    if not truth["usable"] or rgb.shape[:2] != label.shape:
        return None
    return np.dstack([rgb, cls]).view(np.int32)[..., 0], label, 1 / truth["mm_per_px"], [t["at_px"] for t in truth["things"]]


class Scenes:
    """Scenes on the device, side by side, so that a batch of crops is cut out of them at once; those of another size than the first are left out."""

    def __init__(self, paths, device):
        with multiprocessing.pool.ThreadPool(16) as pool:
            got = [g for g in pool.imap(read, paths, 4) if g is not None]
        got = [g for g in got if g[1].shape == got[0][1].shape]
        self.h, self.w = got[0][1].shape
        self.pix = torch.empty((len(got), self.h, self.w), dtype=torch.int32, device=device)
        self.label = torch.empty((len(got), self.h, self.w), dtype=torch.int16, device=device)
        for i, (pix, label, _, _) in enumerate(got):
            self.pix[i], self.label[i] = torch.from_numpy(pix), torch.from_numpy(label)
        self.px_per_mm, self.at = [g[2] for g in got], [g[3] for g in got]

    def __len__(self):
        return len(self.at)

    def where(self, i, r):
        """Where a crop of scene i lies: its middle, scene px, the cosine and sine of its turn, whether it is mirrored (-1), scene px a crop px, and crop px
        per mm."""
        lo, hi = math.log(PX_PER_MM[0]), math.log(min(PX_PER_MM[1], FINER * self.px_per_mm[i]))
        px_per_mm = math.exp(lo + (hi - lo) * r[0]) if hi > lo else FINER * self.px_per_mm[i]
        zoom = self.px_per_mm[i] / px_per_mm
        a, flip = 2 * math.pi * r[1], 1 if r[2] < 0.5 else -1
        reach = zoom * CROP * 0.75
        cx, cy = r[3] * self.w, r[4] * self.h
        if self.at[i] and r[5] < ON_PIECE:
            p = self.at[i][int(r[6] * len(self.at[i]))]
            cx, cy = p[0] + (r[3] - 0.5) * zoom * CROP * 0.7, p[1] + (r[4] - 0.5) * zoom * CROP * 0.7
        cx = min(max(cx, min(0.4 * reach, self.w / 2)), max(self.w - 0.4 * reach, self.w / 2))
        cy = min(max(cy, min(0.4 * reach, self.h / 2)), max(self.h - 0.4 * reach, self.h / 2))
        return cx, cy, math.cos(a), math.sin(a), flip, zoom, px_per_mm

    def cut(self, which, r):
        """Turned, scaled, mirrored crops of the scenes: 0..255, classes (255 beyond the photo), contact."""
        d, n = self.pix.device, 2 * CROP  # drawn twice as fine, then averaged
        places = [self.where(i, q) for i, q in zip(which, r)]
        cx, cy, c, s, flip, zoom, _ = (v[:, None, None] for v in torch.tensor(places, dtype=torch.float32, device=d).T)
        at = (torch.arange(n, device=d) + 0.5 - CROP) / 2
        v, u = at[None, :, None] * zoom, at[None, None, :] * zoom * flip
        sx, sy = cx + u * c - v * s, cy + u * s + v * c
        first = (torch.tensor(which, device=d) * (self.h * self.w))[:, None, None]
        x = F.avg_pool2d(self.bilinear(first, sx, sy), 2)
        sx, sy = sx[:, 1::2, 1::2], sy[:, 1::2, 1::2]
        near = first + sy.long().clamp(0, self.h - 1) * self.w + sx.long().clamp(0, self.w - 1)
        y = (self.pix.view(-1)[near] >> 24 & 255).long()
        y[(sx < 0) | (sy < 0) | (sx >= self.w) | (sy >= self.h)] = 255
        label = self.label.view(-1)[near].float()[:, None]
        contact = [beside_two(l, max(1, round(CONTACT_MM * p[6]))) for l, p in zip(label, places)]
        return x, y, torch.cat(contact)

    def bilinear(self, first, sx, sy):
        """Red, green and blue at places between pixels; the border goes on beyond the photo."""
        flat = self.pix.view(-1)
        x, y = (sx - 0.5).clamp(0, self.w - 1), (sy - 0.5).clamp(0, self.h - 1)
        x0, y0 = x.long(), y.long()
        fx, fy = (x - x0)[:, None], (y - y0)[:, None]
        row = lambda p: first + p * self.w
        pixels = lambda at: torch.stack([(flat[at] >> k & 255).float() for k in (0, 8, 16)], 1)
        line = lambda at: torch.lerp(pixels(at + x0), pixels(at + (x0 + 1).clamp(max=self.w - 1)), fx)
        return torch.lerp(line(row(y0)), line(row((y0 + 1).clamp(max=self.h - 1))), fy)


def beside_two(label, radius):
    """Where two labels come within radius pixels."""
    k = 2 * radius + 1
    top = F.max_pool2d(label, k, 1, radius)
    low = -F.max_pool2d(-torch.where(label > 0, label, torch.full_like(label, 30000)), k, 1, radius)
    return (top > 0) & (top != low)


def crops(scenes, gen):
    which = torch.randint(len(scenes), (BATCH,), generator=gen).tolist()
    x, y, c = scenes.cut(which, torch.rand(BATCH, 7, generator=gen).tolist())
    return colour(repaint(x, y, gen), gen), y, c


def repaint(x, y, gen):
    """Another tray in some: the ground alone takes another colour, softly at the pieces' edges."""
    d, n = x.device, len(x)
    r = torch.rand(n, 8, generator=gen).to(d)
    ground = F.avg_pool2d((y == 0)[:, None].float(), 3, 1, 1) * (r[:, 0] < 0.4)[:, None, None, None]
    other = torch.where((r[:, 1] < 0.6)[:, None, None, None], x[:, torch.randperm(3, generator=gen)], x)
    other = (other * (0.4 + 1.2 * r[:, 2:5])[:, :, None, None] + (90 * r[:, 5:8] - 30)[:, :, None, None]).clamp(0, 255)
    return x + ground * (other - x)


def colour(x, gen):
    """Other cameras: exposure, white balance, contrast, saturation, hue, blur, noise."""
    d, n = x.device, len(x)
    r = torch.rand(n, 10, generator=gen, device=gen.device).to(d)
    col = lambda v: v[:, None, None, None]
    white = 2 ** ((r[:, 1:4] - 0.5) * torch.tensor([0.45, 0.15, 0.45], device=d))
    x = (x / 255).clamp(0, 1) ** 2.2 * col(2 ** (1.4 * (r[:, 0] - 0.5))) * white[:, :, None, None]
    x = x.clamp(1e-4, 1) ** col(1 / (2.2 * (0.8 + 0.4 * r[:, 4])))
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * col(0.6 + 0.8 * r[:, 5])
    x = torch.where(col(r[:, 6] < 0.06), x[:, torch.randperm(3, generator=gen, device=gen.device)], x)
    sigma = torch.where(r[:, 7] < 0.3, 0.3 + 1.0 * r[:, 8], torch.full_like(r[:, 8], 0.05))
    k = torch.exp(-torch.arange(-4, 5, device=d) ** 2 / (2 * sigma[:, None] ** 2))
    k = k / k.sum(1, keepdim=True)
    size = x.shape[-1]
    for pad, way in ((0, 0, 4, 4), 2), ((4, 4, 0, 0), 3):
        wide = F.pad(x, pad)
        x = sum(col(k[:, i]) * wide.narrow(way, i, size) for i in range(9))
    x = x + torch.randn(x.shape, device=d) * col(0.06 * r[:, 9] ** 3)
    return x.clamp(0, 1)


def loss_of(z, y, contact, weight):
    seen = (y < 255).float()
    piece = F.cross_entropy(z[:, :4], y.clamp(max=3) * (y < 255), weight=weight, reduction="none")
    c = contact.float()
    seam = F.binary_cross_entropy_with_logits(z[:, 4], c, weight=1 + (CONTACT - 1) * c, reduction="none")
    return ((piece + 0.7 * seam) * seen).mean()


def main(folder, out, seconds, start=None, rate=RATE):
    device = "cuda"
    torch.manual_seed(SEED)
    gen = torch.Generator().manual_seed(SEED + (1 if start else 0))
    began = time.time()
    paths = sorted(glob.glob(folder + "/*.truth.json"))
    held, fitted = Scenes(paths[::25], device), Scenes([p for i, p in enumerate(paths) if i % 25], device)
    print("scenes", len(fitted), "held back", len(held), "loaded in %.0f s" % (time.time() - began), flush=True)
    net = UNet().to(device).to(memory_format=torch.channels_last)
    if start and start.endswith(".onnx"):
        carried(net, start, (crops(fitted, gen)[0].to(memory_format=torch.channels_last) - 0.5 for _ in range(20)))
    elif start:
        restored(net, start)
    mean = averaged(net)
    print("weights", sum(p.numel() for p in net.parameters()), flush=True)
    rate = float(rate)
    opt = torch.optim.AdamW(net.parameters(), lr=rate, weight_decay=1e-4)
    weight = torch.tensor(WEIGHT, device=device)
    step, until = 0, seconds - (time.time() - began)
    began = time.time()
    while (spent := (time.time() - began) / until) < 1:
        slow(opt, rate, step, spent)
        x, y, c = crops(fitted, gen)
        with torch.autocast("cuda", dtype=torch.bfloat16):
            z = net(x.to(memory_format=torch.channels_last) - 0.5)
        loss = loss_of(z.float(), y, c, weight)
        descend(loss, net, opt, mean)
        step += 1
        if step % 250 == 0:
            print("step %d loss %.4f at %.0f s" % (step, loss.item(), time.time() - began), flush=True)
    print("steps", step)
    settle(mean.module, (crops(fitted, gen)[0].to(memory_format=torch.channels_last) - 0.5 for _ in range(150)))
    report(mean.module, held)
    store(mean.module, out)


def averaged(net):
    """The mean of the net's weights over the steps, the last ones foremost."""
    return torch.optim.swa_utils.AveragedModel(net, avg_fn=lambda m, p, _: KEEP * m + (1 - KEEP) * p, use_buffers=False)


def slow(opt, rate, step, spent):
    """The rate of a step: it rises over the first 300 and falls to nothing by a half cosine of the time spent, 0..1."""
    for g in opt.param_groups:
        g["lr"] = rate * min(1, (step + 1) / 300) * (0.5 + 0.5 * math.cos(math.pi * spent)) + 1e-6


def descend(loss, net, opt, mean):
    opt.zero_grad(set_to_none=True)
    loss.backward()
    torch.nn.utils.clip_grad_norm_(net.parameters(), 1.0)
    opt.step()
    mean.update_parameters(net)


def settle(net, inputs):
    """Batch norms of the mean weights: counted anew over the inputs."""
    for m in net.modules():
        if isinstance(m, torch.nn.BatchNorm2d):
            m.reset_running_stats()
            m.momentum = None
    net.train()
    with torch.no_grad():
        for x in inputs:
            net(x)


def report(net, held):
    net.eval()
    gen = torch.Generator().manual_seed(1)
    names = ["ground", "whole", "broken", "stover", "contact"]
    hit, said, true = [0] * 5, [0] * 5, [0] * 5
    with torch.no_grad():
        for _ in range(30):
            x, y, c = crops(held, gen)
            z = net(x - 0.5)
            p, ok = z[:, :4].argmax(1), y < 255
            for k in range(4):
                hit[k] += int(((p == k) & (y == k) & ok).sum())
                said[k] += int(((p == k) & ok).sum())
                true[k] += int(((y == k) & ok).sum())
            hit[4] += int(((z[:, 4] > 0) & c & ok).sum())
            said[4] += int(((z[:, 4] > 0) & ok).sum())
            true[4] += int((c & ok).sum())
    for k, name in enumerate(names):
        print("%-8s precision %.4f recall %.4f" % (name, hit[k] / max(1, said[k]), hit[k] / max(1, true[k])))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], float(sys.argv[3]), *sys.argv[4:])
