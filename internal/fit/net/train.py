"""Fits the network by which package vision tells ground, kernel, stover and contact apart.

Run on a machine with a GPU and PyTorch, over scenes rendered with their masks:

    go run ./internal/scene/render --all --seeds tuning --count 12 --width 1600 --masks --out build/net
    python3 internal/fit/net/train.py build/net build/net.npz SECONDS
    python3 internal/fit/net/export.py build/net.npz vision/net.onnx

The seed below fixes the starting weights and the order of the crops; on a GPU sums are taken in no
fixed order, so weights repeat closely, not to the bit. Only tuning seeds are read.
"""
import glob
import json
import math
import sys
import time

import numpy as np
import torch
import torch.nn.functional as F
from PIL import Image

from model import UNet

SEED = 20260
PX_PER_MM = 5.0
CROP = 384
BATCH = 24
# ground, kernel, stover, contact: contact lines and straws are thin and would drown otherwise
WEIGHT = [0.8, 1.0, 1.2, 1.6]


def load(folder, device):
    scenes = []
    for path in sorted(glob.glob(folder + "/*.truth.json")):
        truth = json.load(open(path))
        if not truth["usable"]:
            continue
        base = path[: -len(".truth.json")]
        rgb = np.asarray(Image.open(base + ".jpg").convert("RGB"))
        label = np.asarray(Image.open(base + ".labels.png")).astype(np.int32)
        cls = np.asarray(Image.open(base + ".classes.png"))
        if rgb.shape[:2] != label.shape:
            continue
        kind = np.zeros(256, np.uint8)
        kind[1] = kind[2] = 1
        kind[3] = 2
        scenes.append(dict(
            rgb=torch.from_numpy(rgb.copy()).permute(2, 0, 1).to(device),
            label=torch.from_numpy(label.astype(np.int16)).to(device),
            cls=torch.from_numpy(kind[cls]).to(device),
            px_per_mm=1 / truth["mm_per_px"],
        ))
    return scenes


def crops(scenes, gen, device):
    """A batch of turned, scaled, mirrored crops with their targets."""
    xs, ys = [], []
    for _ in range(BATCH):
        s = scenes[int(torch.randint(len(scenes), (1,), generator=gen))]
        r = torch.rand(8, generator=gen).tolist()
        h, w = s["cls"].shape
        zoom = s["px_per_mm"] / (PX_PER_MM * (0.6 + 0.6 * r[0]))  # source px per crop px
        zoom = min(zoom, 1.6 * min(h, w) / CROP)
        a = 2 * math.pi * r[1]
        flip = 1 if r[2] < 0.5 else -1
        cx, cy = (0.05 + 0.9 * r[3]) * w, (0.05 + 0.9 * r[4]) * h
        v, u = torch.meshgrid(torch.arange(CROP, device=device) - CROP / 2 + 0.5,
                              torch.arange(CROP, device=device) - CROP / 2 + 0.5, indexing="ij")
        u = u * flip
        sx = cx + zoom * (u * math.cos(a) - v * math.sin(a))
        sy = cy + zoom * (u * math.sin(a) + v * math.cos(a))
        inside = (sx >= 0) & (sy >= 0) & (sx < w) & (sy < h)
        grid = torch.stack([2 * sx / w - 1, 2 * sy / h - 1], -1)[None]
        src = s["rgb"][None].float()
        if zoom > 1.4:
            src = F.avg_pool2d(src, 2, ceil_mode=True)
        x = F.grid_sample(src, grid, mode="bilinear", padding_mode="border", align_corners=False)
        ix, iy = sx.long().clamp(0, w - 1), sy.long().clamp(0, h - 1)
        label, cls = s["label"][iy, ix].float(), s["cls"][iy, ix].long()
        y = target(label, cls)
        x = repaint(x, y, gen)
        y[~inside] = 255
        xs.append(colour(x, gen))
        ys.append(y)
    return torch.cat(xs), torch.stack(ys)


def target(label, cls):
    """Class of each pixel; where two pieces come within two pixels of one, on ground too, is contact."""
    near = label[None, None]
    top = F.max_pool2d(near, 5, 1, 2)[0, 0]
    low = -F.max_pool2d(-torch.where(near > 0, near, torch.full_like(near, 30000)), 5, 1, 2)[0, 0]
    y = cls.clone()
    y[(top > 0) & (top != low)] = 3
    return y


def repaint(x, y, gen):
    """Another tray: the ground alone takes another colour, softly at the pieces' edges."""
    r = torch.rand(8, generator=gen).tolist()
    if r[0] > 0.5:
        return x
    ground = F.avg_pool2d((y == 0)[None, None].float(), 3, 1, 1)
    other = x[:, torch.randperm(3, generator=gen)] if r[1] < 0.6 else x
    gain = torch.tensor([0.4 + 1.2 * r[2], 0.4 + 1.2 * r[3], 0.4 + 1.2 * r[4]], device=x.device)[None, :, None, None]
    lift = torch.tensor([90 * r[5] - 30, 90 * r[6] - 30, 90 * r[7] - 30], device=x.device)[None, :, None, None]
    other = (other * gain + lift).clamp(0, 255)
    return x + ground * (other - x)


def colour(x, gen):
    """Another camera: exposure, white balance, contrast, saturation, hue, blur, noise."""
    r = torch.rand(12, generator=gen).tolist()
    x = x / 255
    gain = 2 ** (1.4 * (r[0] - 0.5))
    white = torch.tensor([2 ** (0.45 * (r[1] - 0.5)), 2 ** (0.15 * (r[2] - 0.5)), 2 ** (0.45 * (r[3] - 0.5))], device=x.device)
    x = x.clamp(0, 1) ** 2.2 * gain * white[None, :, None, None]
    x = x.clamp(0, 1) ** (1 / (2.2 * (0.8 + 0.4 * r[4])))
    grey = x.mean(1, keepdim=True)
    x = grey + (x - grey) * (0.6 + 0.8 * r[5])
    if r[6] < 0.08:
        x = x[:, torch.randperm(3, generator=gen)]
    if r[7] < 0.35:
        sigma = 0.3 + 1.2 * r[8]
        k = torch.exp(-torch.arange(-4, 5, device=x.device) ** 2 / (2 * sigma ** 2))
        k = (k / k.sum())[None, None]
        x = F.conv2d(x.transpose(0, 1), k[..., None], padding=(4, 0))
        x = F.conv2d(x, k[..., None].transpose(2, 3), padding=(0, 4)).transpose(0, 1)
    x = x + torch.randn(x.shape, device=x.device) * 0.05 * r[9] ** 2
    return x.clamp(0, 1)


def main(folder, out, seconds):
    device = "cuda"
    torch.manual_seed(SEED)
    gen = torch.Generator().manual_seed(SEED)
    started = time.time()
    scenes = load(folder, device)
    held = scenes[::14]
    fitted = [s for i, s in enumerate(scenes) if i % 14]
    print("scenes", len(fitted), "held back", len(held), "loaded in %.0f s" % (time.time() - started), flush=True)
    net = UNet().to(device).to(memory_format=torch.channels_last)
    print("weights", sum(p.numel() for p in net.parameters()))
    opt = torch.optim.AdamW(net.parameters(), lr=2e-3, weight_decay=1e-4)
    weight = torch.tensor(WEIGHT, device=device)
    began, step, total = time.time(), 0, None
    while True:
        spent = (time.time() - began) / seconds
        if spent >= 1:
            break
        for g in opt.param_groups:
            g["lr"] = 2.5e-3 * min(1, step / 200) * (0.5 + 0.5 * math.cos(math.pi * spent)) + 1e-6
        x, y = crops(fitted, gen, device)
        with torch.autocast("cuda", dtype=torch.bfloat16):
            z = net(x.to(memory_format=torch.channels_last) - 0.5)
        loss = F.cross_entropy(z.float(), y.clamp(max=3) * (y < 255), weight=weight, reduction="none")
        loss = (loss * (y < 255)).mean()
        opt.zero_grad(set_to_none=True)
        loss.backward()
        opt.step()
        total = loss.item() if total is None else 0.98 * total + 0.02 * loss.item() if step % 10 == 0 else total
        step += 1
        if step % 500 == 0:
            print("step %d loss %.4f at %.0f s" % (step, total, time.time() - began), flush=True)
    report(net, held, device)
    np.savez(out, **{k: v.float().cpu().numpy() for k, v in net.state_dict().items()})


def report(net, held, device):
    net.eval()
    gen = torch.Generator().manual_seed(1)
    hit, said, true = [0] * 4, [0] * 4, [0] * 4
    with torch.no_grad():
        for _ in range(20):
            x, y = crops(held, gen, device)
            p = net(x - 0.5).argmax(1)
            for c in range(4):
                ok = y < 255
                hit[c] += int(((p == c) & (y == c) & ok).sum())
                said[c] += int(((p == c) & ok).sum())
                true[c] += int(((y == c) & ok).sum())
    for c, name in enumerate(["ground", "kernel", "stover", "contact"]):
        print("%-8s precision %.4f recall %.4f" % (name, hit[c] / max(1, said[c]), hit[c] / max(1, true[c])))


if __name__ == "__main__":
    main(sys.argv[1], sys.argv[2], float(sys.argv[3]))
