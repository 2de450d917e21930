"""Writes a fitted network as ONNX for OpenCV 4.6's dnn module: python3 export.py net|closeup OUT.onnx FITTED ...

Several may be given. Of close-ups what is written says the mean of what they say, and FILE.onnx@0 is the first of those whose mean a written file says. Of
the other its weights are the mean of theirs, which were fitted one after the other, and one may be the written file of before. Batch norms are folded
into the convolutions first, since the importer stops at what is left of them, and the U-Net's last layers are brought to half their size.
Known to work: PyTorch 1.13 (Debian's python3-torch), opset 11.
"""
import sys

import torch
from torch import nn
import torch.nn.functional as F

from carry import weights
from halved import Halved
from model import CloseUp, Sum, UNet, restored


def fold(net):
    for name, child in net.named_children():
        if isinstance(child, nn.Sequential) and len(child) == 3 and isinstance(child[1], nn.BatchNorm2d):
            conv, norm = child[0], child[1]
            scale = norm.weight / torch.sqrt(norm.running_var + norm.eps)
            plain = nn.Conv2d(conv.in_channels, conv.out_channels, conv.kernel_size, conv.stride, conv.padding)
            plain.weight.data = conv.weight * scale[:, None, None, None]
            plain.bias.data = norm.bias - norm.running_mean * scale
            setattr(net, name, nn.Sequential(plain, nn.ReLU()))
        else:
            fold(child)


def main(which, dst, *srcs):
    x, free = torch.rand(1, 3, 96, 128) - 0.5, {"seen": {2: "h", 3: "w"}, "odds": {2: "h", 3: "w"}}
    if which == "closeup":
        x, free = torch.rand(8, 7, 48, 48) - 0.5, {}
        nets = [member(*src.split("@")) if "@" in src else plain(CloseUp(), src, x) for src in srcs]
        for one in nets:
            for part in one.out.parameters():
                part.data /= len(nets)
        net = Sum(nets)
    else:
        nets = [folded(UNet(), weights(src)) if src.endswith(".onnx") else plain(UNet(), src, x) for src in srcs]
        net = nets[0]
        net.load_state_dict({k: sum(n.state_dict()[k] for n in nets) / len(nets) for k in net.state_dict()})
        net = halved(net.eval(), x)
    with torch.no_grad():
        torch.onnx.export(net.eval(), x, dst, opset_version=11, input_names=["seen"], output_names=["odds"], dynamic_axes=free)


def plain(net, src, x):
    """A fitted network with its batch norms folded; x is something to show it."""
    restored(net, src).eval()
    with torch.no_grad():
        before = net(x)
        fold(net)
        print("folding changed the output by at most", float((net(x) - before).abs().max()))
    return net


def halved(net, x):
    """The U-Net as it is written; x is something to show it."""
    half = Halved(net).eval()
    with torch.no_grad():
        print("halving changed the output by at most", float((F.pixel_shuffle(half(x), 2) - net(x)).abs().max()))
    return half


def folded(net, stored):
    """The net with the weights of one whose batch norms are folded."""
    fold(net)
    net.load_state_dict(stored)
    return net


def member(src, k):
    """The k-th of the networks of close-ups whose mean an ONNX file says."""
    own = "nets.%s." % k
    stored = weights(src)
    some = {name[len(own):]: w for name, w in stored.items() if name.startswith(own)}
    for name in "out.weight", "out.bias":
        some[name] *= sum(n.endswith(name) for n in stored)
    place = some["where.1.0.bias"].numel() if "where.1.0.bias" in some else 0
    return folded(CloseUp(some["body.5.0.bias"].numel(), place), some)


if __name__ == "__main__":
    main(*sys.argv[1:])
