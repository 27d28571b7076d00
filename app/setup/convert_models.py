#!/usr/bin/env python3
"""Writes models that come in other forms as ONNX files: convert_models.py KIND SOURCE OUT

    ssd        the SSD MobileNet v1 face detector of @vladmandic/face-api (SOURCE: its model folder)
    fullrange  the full-range face detector of @mediapipe/face_detection (SOURCE: the .tflite file)
    centernet  the CenterNet object detector of @vladmandic/human (SOURCE: its models folder)
    view       the part of the same net below its heads, whose maps tell what a picture is of (SOURCE likewise)

The same source gives the same bytes. Inputs and outputs are described at each function."""
import json
import os
import sys

import numpy as np
from onnx import TensorProto, checker, helper, numpy_helper, save


class Graph:
    """Collects nodes and constants; every helper returns the name of its result."""

    def __init__(self, opset):
        self.nodes, self.constants, self.opset, self.count = [], [], opset, 0

    def name(self):
        self.count += 1
        return f"t{self.count}"

    def constant(self, array):
        name = self.name()
        self.constants.append(numpy_helper.from_array(np.ascontiguousarray(array), name))
        return name

    def add(self, op, inputs, output=None, **attributes):
        output = output or self.name()
        self.nodes.append(helper.make_node(op, inputs, [output], **attributes))
        return output

    def conv(self, x, weights, bias, stride, pads, group=1):
        """weights: O, I, height, width."""
        inputs = [x, self.constant(weights.astype(np.float32))] + ([] if bias is None else [self.constant(bias.astype(np.float32))])
        return self.add("Conv", inputs, strides=[stride, stride], pads=pads, group=group, kernel_shape=list(weights.shape[2:]))

    def relu6(self, x):
        return self.add("Clip", [x, self.constant(np.float32(0)), self.constant(np.float32(6))])

    def write(self, path, inputs, outputs):
        values = lambda all: [helper.make_tensor_value_info(n, TensorProto.FLOAT, s) for n, s in all]
        graph = helper.make_graph(self.nodes, "net", values(inputs), values(outputs), self.constants)
        model = helper.make_model(graph, opset_imports=[helper.make_opsetid("", self.opset)], producer_name="")
        model.ir_version = 7
        checker.check_model(model)
        save(model, path)


def same(kernel, stride, size=None):
    """Padding of the kind 'same': the odd pixel goes below and to the right. Sizes are even wherever stride is 2."""
    total = max(0, kernel - stride)
    return [total // 2, total // 2, total - total // 2, total - total // 2]


def kept_weights(folder, manifest, binary):
    """Arrays by name, in the order in which they lie in the file."""
    data, at, out = open(os.path.join(folder, binary), "rb").read(), 0, {}
    for w in manifest:
        q = w.get("quantization")
        kind = np.dtype({"float16": np.float16, "uint8": np.uint8}[q["dtype"]] if q else {"float32": np.float32, "int32": np.int32}[w["dtype"]])
        n = int(np.prod(w["shape"], dtype=np.int64))
        raw = np.frombuffer(data, kind, n, at)
        at += n * kind.itemsize
        values = raw.astype(np.float32) * q["scale"] + q["min"] if q and "scale" in q else raw.astype(w["dtype"])
        out[w["name"]] = values.reshape(w["shape"])
    return out


def ssd(source, out):
    """Input "picture": 1, 3, 512, 512, RGB / 127.5 - 1. Outputs "boxes": 5118 of top, left, bottom, right in shares of
    the picture; "scores": 5118 of 0..1."""
    manifest = json.load(open(os.path.join(source, "ssd_mobilenetv1_model-weights_manifest.json")))
    w = kept_weights(source, [x for g in manifest for x in g["weights"]], "ssd_mobilenetv1_model.bin")
    g = Graph(11)
    oihw = lambda a: a.transpose(3, 2, 0, 1)

    def pointwise(x, name, stride=1):
        k = w[f"{name}/weights"]
        return g.relu6(g.conv(x, oihw(k), w[f"{name}/convolution_bn_offset"], stride, same(k.shape[0], stride)))

    def depthwise(x, name, stride):
        b = f"{name}/BatchNorm/"
        scale = w[b + "gamma"] / np.sqrt(w[b + "moving_variance"] + 0.001)
        k = w[f"{name}/depthwise_weights"].transpose(2, 3, 0, 1) * scale[:, None, None, None]
        return g.relu6(g.conv(x, k, w[b + "beta"] - w[b + "moving_mean"] * scale, stride, same(3, stride), group=k.shape[0]))

    x, layers = pointwise("picture", "MobilenetV1/Conv2d_0_pointwise", 2), []
    for i in range(1, 14):
        x = depthwise(x, f"MobilenetV1/Conv2d_{i}_depthwise", 2 if i in (2, 4, 6, 12) else 1)
        x = pointwise(x, f"MobilenetV1/Conv2d_{i}_pointwise")
        if i in (11, 13):
            layers.append(x)
    for i in range(8):
        x = pointwise(x, f"Prediction/Conv2d_{i}_pointwise", 2 if i % 2 else 1)
        if i % 2:
            layers.append(x)

    def head(x, name, numbers):
        y = g.conv(x, oihw(w[f"{name}/weights"]), w[f"{name}/biases"], 1, [0, 0, 0, 0])
        return g.add("Reshape", [g.add("Transpose", [y], perm=[0, 2, 3, 1]), g.constant(np.array([-1, numbers], np.int64))])

    boxes = [head(l, f"Prediction/BoxPredictor_{i}/BoxEncodingPredictor", 4) for i, l in enumerate(layers)]
    classes = [head(l, f"Prediction/BoxPredictor_{i}/ClassPredictor", 3) for i, l in enumerate(layers)]
    anchors = w["Output/extra_dim"].reshape(-1, 4)
    size = anchors[:, 2:] - anchors[:, :2]
    middle = anchors[:, :2] + size / 2
    cut = lambda t, a, b: g.add("Slice", [t, g.constant(np.array([a], np.int64)), g.constant(np.array([b], np.int64)), g.constant(np.array([1], np.int64))])
    t = g.add("Concat", boxes, axis=0)
    centre = g.add("Add", [g.add("Mul", [cut(t, 0, 2), g.constant(size / 10)]), g.constant(middle)])
    half = g.add("Mul", [g.add("Exp", [g.add("Mul", [cut(t, 2, 4), g.constant(np.float32(0.2))])]), g.constant(size / 2)])
    g.add("Concat", [g.add("Sub", [centre, half]), g.add("Add", [centre, half])], "boxes", axis=1)
    face = g.add("Sigmoid", [cut(g.add("Concat", classes, axis=0), 1, 2)])
    g.add("Reshape", [face, g.constant(np.array([-1], np.int64))], "scores")
    g.write(out, [("picture", [1, 3, 512, 512])], [("boxes", [len(anchors), 4]), ("scores", [len(anchors)])])


class Flat:
    """Reads a flatbuffer by the numbers of its fields, as the schema of TensorFlow Lite counts them."""

    def __init__(self, data, at):
        from flatbuffers.table import Table
        self.data, self.table = data, Table(data, at)

    def _at(self, field):
        o = self.table.Offset(4 + 2 * field)
        return o and self.table.Pos + o

    def number(self, field, kind, default=0):
        at = self._at(field)
        return int(np.frombuffer(self.data, kind, 1, at)[0]) if at else default

    def array(self, field, kind):
        o = self.table.Offset(4 + 2 * field)
        return np.frombuffer(self.data, kind, self.table.VectorLen(o), self.table.Vector(o)) if o else np.zeros(0, kind)

    def child(self, field):
        return Flat(self.data, self.table.Indirect(self._at(field)))

    def children(self, field):
        o = self.table.Offset(4 + 2 * field)
        start, n = (self.table.Vector(o), self.table.VectorLen(o)) if o else (0, 0)
        return [Flat(self.data, self.table.Indirect(start + 4 * i)) for i in range(n)]


def fullrange(source, out):
    """Input "picture": 1, 3, 192, 192, RGB / 127.5 - 1. Outputs "boxes": 2304 of 16 numbers (see the spotter),
    "scores": 2304, before the sigmoid."""
    data = bytearray(open(source, "rb").read())
    model = Flat(data, int(np.frombuffer(data, np.uint32, 1)[0]))
    codes = [max(c.number(0, np.int8), c.number(3, np.int32)) for c in model.children(1)]
    net, buffers = model.children(2)[0], model.children(4)
    tensors = net.children(0)
    shape = lambda i: [int(n) for n in tensors[i].array(0, np.int32)]
    kinds = {0: np.float32, 1: np.float16, 2: np.int32}
    fixed = {i: buffers[t.number(2, np.uint32)].array(0, np.uint8).view(kinds[t.number(1, np.int8)]).reshape(shape(i))
             for i, t in enumerate(tensors) if len(buffers[t.number(2, np.uint32)].array(0, np.uint8))}
    g, made = Graph(11), {int(net.array(1, np.int32)[0]): "picture"}
    ADD, CONV, DEPTHWISE, DEQUANTIZE, POOL, RELU, RESHAPE, RESIZE, PAD = 0, 3, 4, 6, 17, 19, 22, 23, 34
    for op in net.children(3):
        ins, (result,) = [int(i) for i in op.array(1, np.int32)], [int(i) for i in op.array(2, np.int32)]
        code, x = codes[op.number(0, np.uint32)], made.get(ins[0])
        if code == DEQUANTIZE:
            fixed[result] = fixed[ins[0]].astype(np.float32)
            continue
        if code in (CONV, DEPTHWISE):
            o, stride = op.child(4), op.child(4).number(1, np.int32)
            k = fixed[ins[1]].transpose(0, 3, 1, 2) if code == CONV else fixed[ins[1]].transpose(3, 0, 1, 2)
            pads = same(k.shape[2], stride) if o.number(0, np.int8) == 0 else [0] * 4
            y = g.conv(x, k, fixed[ins[2]], stride, pads, group=1 if code == CONV else k.shape[0])
            relu = o.number(3 if code == CONV else 4, np.int8) == 1
            y = g.add("Relu", [y]) if relu else y
        elif code == RELU:
            y = g.add("Relu", [x])
        elif code == ADD:
            y = g.add("Add", [x, made[ins[1]]])
            y = g.add("Relu", [y]) if op.child(4).number(0, np.int8) == 1 else y
        elif code == PAD:
            p = fixed[ins[1]]  # of batch, height, width, channels
            nchw = [0, 3, 1, 2]
            y = g.add("Pad", [x, g.constant(np.array([p[i][0] for i in nchw] + [p[i][1] for i in nchw], np.int64))])
        elif code == POOL:
            o = op.child(4)
            y = g.add("MaxPool", [x], kernel_shape=[o.number(4, np.int32), o.number(3, np.int32)], strides=[o.number(2, np.int32), o.number(1, np.int32)])
        elif code == RESIZE:
            to, was = fixed[ins[1]], shape(ins[0])
            scales = np.array([1, 1, to[0] / was[1], to[1] / was[2]], np.float32)
            y = g.add("Resize", [x, g.constant(np.zeros(0, np.float32)), g.constant(scales)], mode="linear", coordinate_transformation_mode="half_pixel")
        elif code == RESHAPE:
            y = g.add("Reshape", [g.add("Transpose", [x], perm=[0, 2, 3, 1]), g.constant(np.array([-1, shape(result)[-1]], np.int64))])
        else:
            sys.exit(f"The face model holds a step of an unknown kind ({code}); its package must have changed.")
        made[result] = y
    for i in net.array(2, np.int32):
        numbers = shape(int(i))[-1]
        name = "boxes" if numbers == 16 else "scores"
        g.add("Reshape", [made[int(i)], g.constant(np.array([-1, 16] if numbers == 16 else [-1], np.int64))], name)
    g.write(out, [("picture", [1, 3, 192, 192])], [("boxes", [2304, 16]), ("scores", [2304])])


def centernet(source, out, view=False):
    """Input "picture": 1, 3, 512, 512 (view: 256, 256), RGB of 0..255. Outputs "heat": 1, 80, 128, 128, of 0..1, a map for each class,
    and "reach": 1, 4, 128, 128: how far the box reaches left, up, right and down, in pixels of the input. Outputs of
    the view: "fine" 1, 32, 32, 32, "middle" 1, 88, 16, 16 and "coarse" 1, 120, 8, 8."""
    model = json.load(open(os.path.join(source, "centernet.json")))
    w = kept_weights(source, model["weightsManifest"][0]["weights"], "centernet.bin")
    nodes = {n["name"]: n for n in model["modelTopology"]["node"]}
    g, made = Graph(11), {}
    plain = lambda name: name.split(":")[0].lstrip("^")

    def stride_and_pads(n, kernel):
        stride = int(n["attr"]["strides"]["list"]["i"][1])
        padded = n["attr"]["padding"]["s"] in ("U0FNRQ==", "SAME")
        return stride, same(kernel, stride) if padded else [0] * 4

    def wide(name):
        """A constant as it is added to or multiplied with pictures whose channels come first."""
        a = w[plain(name)].astype(np.float32)
        return g.constant(a.reshape(-1, 1, 1) if a.ndim == 1 and a.size > 1 else a.transpose(0, 3, 1, 2) if a.ndim == 4 else a)

    def value(name):
        name = plain(name)
        if name in w:
            return wide(name)
        if name not in made:
            made[name] = build(nodes[name])
        return made[name]

    def activated(x, kinds):
        for kind in kinds:
            x = {"Relu": lambda: g.add("Relu", [x]), "Relu6": lambda: g.relu6(x)}.get(kind, lambda: x)()
        return x

    def build(n):
        import base64
        op, ins = n["op"], n.get("input", [])
        if op == "Placeholder":
            return "picture"
        if op in ("_FusedConv2D", "Conv2D", "FusedDepthwiseConv2dNative", "DepthwiseConv2dNative"):
            k = w[plain(ins[1])]
            stride, pads = stride_and_pads(n, k.shape[0])
            deep = "Depthwise" in op
            bias = w[plain(ins[2])] if len(ins) > 2 else None
            fused = [base64.b64decode(s).decode() for s in n["attr"].get("fused_ops", {}).get("list", {}).get("s", [])]
            y = g.conv(value(ins[0]), k.transpose(2, 3, 0, 1) if deep else k.transpose(3, 2, 0, 1), bias, stride, pads, group=k.shape[2] if deep else 1)
            return activated(y, fused)
        if op in ("Relu", "Relu6"):
            return activated(value(ins[0]), [op])
        if op in ("Add", "AddV2", "Mul"):
            return g.add("Mul" if op == "Mul" else "Add", [value(ins[0]), value(ins[1])])
        if op == "Mean":
            return g.add("GlobalAveragePool", [value(ins[0])])
        if op == "Sigmoid":
            return g.add("Sigmoid", [value(ins[0])])
        if op == "Identity":
            return value(ins[0])
        if op == "ConcatV2":
            return g.add("Concat", [value(i) for i in ins[:-1]], axis=1)
        if op == "ResizeBilinear":
            half = n["attr"].get("half_pixel_centers", {}).get("b", False)
            scales = g.constant(np.array([1, 1, 2, 2], np.float32))
            return g.add("Resize", [value(ins[0]), g.constant(np.zeros(0, np.float32)), scales], mode="linear", coordinate_transformation_mode="half_pixel" if half else "asymmetric")
        sys.exit(f"The people model holds a step of an unknown kind ({op}); its package must have changed.")

    if view:
        maps = {"fine": (4, 32, 32), "middle": (11, 88, 16), "coarse": (14, 120, 8)}
        for name, (block, _, _) in maps.items():
            g.add("Identity", [value(f"tower_0/MobilenetV3/expanded_conv_{block}/add")], name)
        return g.write(out, [("picture", [1, 3, 256, 256])], [(name, [1, channels, side, side]) for name, (_, channels, side) in maps.items()])
    g.add("Identity", [value("tower_0/keypoints")], "heat")
    g.add("Identity", [value("tower_0/wh")], "reach")
    g.write(out, [("picture", [1, 3, 512, 512])], [("heat", [1, 80, 128, 128]), ("reach", [1, 4, 128, 128])])


if __name__ == "__main__":
    kinds = {"ssd": ssd, "fullrange": fullrange, "centernet": centernet, "view": lambda source, out: centernet(source, out, view=True)}
    if len(sys.argv) != 4 or sys.argv[1] not in kinds:
        sys.exit(__doc__)
    kinds[sys.argv[1]](sys.argv[2], sys.argv[3])
