"""Whisper in PyTorch over the variables of a CTranslate2 model.bin, with a low-rank adapter on every matrix. For training alone.

The matrices are CTranslate2's own (query, key and value in one), so that an adapter trained here is merged into model.bin as it is.
"""
import struct
from pathlib import Path

import numpy as np
import torch
from torch import Tensor, nn
from torch.nn import functional as F

HEADS = 8
Variables = dict[str, np.ndarray]
_TYPES = {0: np.float32, 1: np.int8, 2: np.int16, 3: np.int32, 4: np.float16}


def read_variables(path: Path) -> Variables:
    """The variables of a CTranslate2 model.bin (format 6) by their names."""
    data, at = memoryview(path.read_bytes()), 4

    def number(form: str) -> int:
        nonlocal at
        at += struct.calcsize(form)
        return int(struct.unpack_from(form, data, at - struct.calcsize(form))[0])

    def text() -> str:
        nonlocal at
        length = number("<H")
        at += length
        return bytes(data[at - length:at - 1]).decode()

    text()
    number("<I")
    found: Variables = {}
    for _ in range(number("<I")):
        name = text()
        shape = [number("<I") for _ in range(number("<B"))]
        kind, size = number("<B"), number("<I")
        found[name] = np.frombuffer(data[at:at + size], _TYPES[kind]).reshape(shape)
        at += size
    return found


class Adapted(nn.Module):
    """One frozen matrix (out, in) with its bias and low-rank factors: weight + scale * up @ down."""

    def __init__(self, weight: np.ndarray, bias: np.ndarray, rank: int) -> None:
        super().__init__()
        matrix = torch.from_numpy(weight.astype(np.float32))
        self.shape = matrix.shape
        self.register_buffer("weight", matrix.reshape(matrix.shape[0], -1))
        self.register_buffer("bias", torch.from_numpy(bias.astype(np.float32)))
        inner = self.weight.shape[1]
        self.down = nn.Parameter(torch.randn(rank, inner) / inner ** 0.5)
        self.up = nn.Parameter(torch.zeros(matrix.shape[0], rank))
        self.scale = 1.0

    def matrix(self) -> Tensor:
        if self.scale == 0.0:
            return self.weight.reshape(self.shape)
        with torch.autocast(self.weight.device.type, enabled=False):
            return (self.weight + self.scale * (self.up @ self.down)).reshape(self.shape)

    def forward(self, x: Tensor) -> Tensor:
        return F.linear(x, self.matrix(), self.bias)


class Whisper(nn.Module):
    def __init__(self, variables: Variables, rank: int) -> None:
        super().__init__()
        self.matrices = nn.ModuleDict()
        self.layers = {side: 1 + max(int(name.split("/")[1][6:]) for name in variables if name.startswith(f"{side}/layer_") and "norm" not in name.split("/")[1])
                       for side in ("encoder", "decoder")}
        for name, value in variables.items():
            short = name.removesuffix("/weight")
            if name.endswith("/weight") and f"{short}/bias" in variables:
                self.matrices[short.replace("/", "-")] = Adapted(value, variables[f"{short}/bias"], rank)
            elif name.rsplit("/", 1)[-1] in {"beta", "gamma", "encodings"} or name == "decoder/embeddings/weight":
                self.register_buffer(name.replace("/", "-"), torch.from_numpy(value.astype(np.float32)))

    def set_scale(self, scale: float) -> None:
        for matrix in self.matrices.values():
            matrix.scale = scale

    def linear(self, name: str, x: Tensor) -> Tensor:
        return self.matrices[name](x)

    def norm(self, name: str, x: Tensor) -> Tensor:
        gamma, beta = getattr(self, f"{name}-gamma"), getattr(self, f"{name}-beta")
        return F.layer_norm(x, gamma.shape, gamma, beta, 1e-5)

    def own_attention(self, name: str, x: Tensor, causal: bool) -> Tensor:
        query, key, value = self.linear(f"{name}-linear_0", self.norm(f"{name}-layer_norm", x)).chunk(3, -1)
        return x + self.linear(f"{name}-linear_1", attend(query, key, value, causal))

    def cross_attention(self, name: str, x: Tensor, heard: Tensor) -> Tensor:
        query = self.linear(f"{name}-linear_0", self.norm(f"{name}-layer_norm", x))
        key, value = self.linear(f"{name}-linear_1", heard).chunk(2, -1)
        return x + self.linear(f"{name}-linear_2", attend(query, key, value, False))

    def feed_forward(self, name: str, x: Tensor) -> Tensor:
        inner = F.gelu(self.linear(f"{name}-linear_0", self.norm(f"{name}-layer_norm", x)))
        return x + self.linear(f"{name}-linear_1", inner)

    def encode(self, mel: Tensor) -> Tensor:
        """(batch, 80, 3000) -> (batch, 1500, 512)."""
        first, second = self.matrices["encoder-conv1"], self.matrices["encoder-conv2"]
        x = F.gelu(F.conv1d(mel, first.matrix(), first.bias, padding=1))
        x = F.gelu(F.conv1d(x, second.matrix(), second.bias, stride=2, padding=1)).transpose(1, 2)
        x = x + getattr(self, "encoder-position_encodings-encodings")
        for layer in range(self.layers["encoder"]):
            x = self.own_attention(f"encoder-layer_{layer}-self_attention", x, False)
            x = self.feed_forward(f"encoder-layer_{layer}-ffn", x)
        return self.norm("encoder-layer_norm", x)

    def decode(self, tokens: Tensor, heard: Tensor) -> Tensor:
        """(batch, length) tokens -> (batch, length, 512) states; logits() of them are the next tokens' scores."""
        x = F.embedding(tokens, getattr(self, "decoder-embeddings-weight"))
        x = x + getattr(self, "decoder-position_encodings-encodings")[:tokens.shape[1]]
        for layer in range(self.layers["decoder"]):
            x = self.own_attention(f"decoder-layer_{layer}-self_attention", x, True)
            x = self.cross_attention(f"decoder-layer_{layer}-attention", x, heard)
            x = self.feed_forward(f"decoder-layer_{layer}-ffn", x)
        return self.norm("decoder-layer_norm", x)

    def logits(self, states: Tensor) -> Tensor:
        return F.linear(states, getattr(self, "decoder-embeddings-weight")).float()


def attend(query: Tensor, key: Tensor, value: Tensor, causal: bool) -> Tensor:
    def apart(x: Tensor) -> Tensor:
        return x.reshape(x.shape[0], x.shape[1], HEADS, -1).transpose(1, 2)
    mixed = F.scaled_dot_product_attention(apart(query), apart(key), apart(value), is_causal=causal)
    return mixed.transpose(1, 2).reshape(query.shape)


class LogMel(nn.Module):
    """The recogniser's own log-mel picture: (batch, 480000) sound, zero from each length on -> (batch, 80, 3000), zero behind the sound."""

    def __init__(self, filters: np.ndarray) -> None:
        super().__init__()
        self.register_buffer("filters", torch.from_numpy(filters.astype(np.float32)))
        self.register_buffer("window", torch.hann_window(400))

    def forward(self, sound: Tensor, lengths: Tensor) -> Tensor:
        with torch.autocast(sound.device.type, enabled=False):
            power = torch.stft(sound.float(), 400, 160, window=self.window, return_complex=True)[..., :-1].abs() ** 2
            mel = (self.filters @ power).clamp(min=1e-10).log10()
            frames, count = torch.arange(mel.shape[-1], device=sound.device)[None, None], (lengths // 160)[:, None, None]
            # The recogniser takes the loudest place over one frame more than it keeps.
            loudest = mel.masked_fill(frames > count, -10.0).amax((1, 2), keepdim=True)
            return ((torch.maximum(mel, loudest - 8.0) + 4.0) / 4.0).masked_fill(frames >= count, 0.0)
