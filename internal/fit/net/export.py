"""Writes a fitted network as ONNX for OpenCV 4.6's dnn module: python3 export.py net|closeup FITTED.npz OUT.onnx

Batch norms are folded into the convolutions first, since the importer stops at what is left of them.
Known to work: PyTorch 1.13 (Debian's python3-torch), opset 11.
"""
import sys

import torch
from torch import nn

from model import CloseUp, UNet, restored


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


def main(which, src, dst):
    net, x, free = UNet(), torch.rand(1, 3, 96, 128) - 0.5, {"seen": {2: "h", 3: "w"}, "odds": {2: "h", 3: "w"}}
    if which == "closeup":
        net, x, free = CloseUp(), torch.rand(8, 7, 48, 48) - 0.5, {}
    restored(net, src).eval()
    with torch.no_grad():
        before = net(x)
        fold(net)
        print("folding changed the output by at most", float((net(x) - before).abs().max()))
        torch.onnx.export(net, x, dst, opset_version=11, input_names=["seen"], output_names=["odds"], dynamic_axes=free)


if __name__ == "__main__":
    main(*sys.argv[1:])
