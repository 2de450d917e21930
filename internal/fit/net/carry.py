"""Carries on from a network that was written as ONNX, in which batch norms are folded into the convolutions."""
import numpy as np
import onnx
import torch
from onnx import numpy_helper
from torch import nn

from halved import whole


def weights(file):
    """The weights of an ONNX file by their names; of a U-Net as they were fitted."""
    stored = {i.name: torch.from_numpy(np.array(numpy_helper.to_array(i))) for i in onnx.load(file).graph.initializer}
    return whole(stored) if "far.weight" in stored else stored


def carried(net, file, inputs):
    """The net with the weights of the file: it gives what the file's network gives. What its layers give over the inputs becomes the norms' mean and
    spread, so that it also does while it is fitted."""
    stored = weights(file)
    norms = []
    for name, m in net.named_modules():
        if isinstance(m, nn.Sequential) and len(m) == 3 and isinstance(m[1], nn.BatchNorm2d) and name + ".0.bias" in stored:
            m[0].weight.data.copy_(stored.pop(name + ".0.weight"))
            norm = m[1]
            norm.weight.data.fill_((1 + norm.eps) ** 0.5)
            norm.bias.data.copy_(stored.pop(name + ".0.bias"))
            norm.running_mean.zero_()
            norm.running_var.fill_(1)
            norms.append(norm)
    kept = net.state_dict()
    for name in list(stored):
        if name in kept and kept[name].shape == stored[name].shape:
            kept[name].copy_(stored.pop(name))
    print("not carried over:", sorted(stored), flush=True)
    measure(net, norms, inputs)
    return net


def measure(net, norms, inputs):
    """Gives the norms the mean and spread of what comes to them, and takes as much out of their weights."""
    sums = {}

    def take(norm, args):
        x = args[0].float()
        got = sums.setdefault(norm, [0, 0.0, 0.0])
        got[0], got[1], got[2] = got[0] + 1, got[1] + x.mean((0, 2, 3)), got[2] + (x * x).mean((0, 2, 3))

    hooks = [n.register_forward_pre_hook(take) for n in norms]
    net.eval()
    with torch.no_grad():
        for x in inputs:
            net(x)
    for h in hooks:
        h.remove()
    for norm, (n, mean, square) in sums.items():
        mean, var = mean / n, (square / n - (mean / n) ** 2).clamp(min=1e-8)
        scale = norm.weight.data / (1 + norm.eps) ** 0.5  # of the folded weights, 1
        norm.bias.data += scale * mean
        norm.weight.data.copy_(scale * torch.sqrt(var + norm.eps))
        norm.running_mean.copy_(mean)
        norm.running_var.copy_(var)
    net.train()
