"""A stream of fresh training pictures: rendered in batches, kept in a pool, shown a few times in different dress."""

import itertools
from contextlib import suppress
from dataclasses import dataclass, fields, replace
from pathlib import Path
from queue import Empty, Queue
from threading import Thread

import torch
import torch.nn.functional as nn
from torch import Tensor

from vision.training.backgrounds import Backgrounds
from vision.training.pictures import chosen, joined, moved, photos
from vision.training.scenes import Truth, render
from vision.training.view import SIZE

#: A picture counts as upright where its head's up direction points up so far (y down).
_STANDING = -0.85
#: Shares of the families in a batch.
SHARES = {"solid": 0.28, "toy": 0.17, "body": 0.55}


@dataclass(frozen=True)
class _Made:
    pixels: Tensor
    truth: Truth
    done: torch.cuda.Event


class Stream:
    """Batches of photos with truth; every render is shown about `shows` times, mirrored, turned and dressed anew.

    A family whose geometry is not at hand is left out. `size` is that of the renders, which are then enlarged: small ones
    are enough to see that the recipe runs. On a GPU a thread of its own renders the next chunk on a second stream.
    """

    def __init__(
        self, *, close: bool, seed: int, device: torch.device, geometry: Path | None, batch: int, chunk: int,
        shows: float = 2.0, pool: int = 4096, size: int = 256,
    ) -> None:  # fmt: skip
        self._close, self._seed, self._device, self._geometry = close, seed, device, geometry
        self._batch, self._chunk, self._shows, self._size = batch, chunk, shows, size
        self._pool_size, self._debt = pool, 0.0
        self._families = [f for f in SHARES if f != "body" or geometry is not None]
        self._pixels: Tensor | None = None
        self._truth: Truth | None = None
        self._next = 0
        self._generator = torch.Generator().manual_seed(seed)
        self._behind = Backgrounds(max(16, pool // 6), SIZE, device, fresh=max(1, batch // 21))
        self._ready: Queue[_Made | Exception] = Queue(maxsize=1)
        self.rendered = self.shown = 0
        self._worker: Thread | None = None
        self._ended = False
        if device.type == "cuda":
            self._worker = Thread(target=self._produce, daemon=True)
            self._worker.start()

    def close(self) -> None:
        """End the thread that renders; a process that ends while it draws is ended by an abort."""
        self._ended = True
        if self._worker is not None:
            while self._worker.is_alive():
                with suppress(Empty):
                    self._ready.get(timeout=0.2)

    def _produce(self) -> None:
        """Render for ever, on a stream of this thread's own."""
        try:
            with torch.cuda.stream(torch.cuda.Stream(self._device)), torch.no_grad():
                while not self._ended:
                    pixels, truth = self._rendered()
                    self._ready.put(_Made(pixels, truth, torch.cuda.current_stream(self._device).record_event()))
        except Exception as error:  # raised again where the chunk is waited for
            self._ready.put(error)

    def _fresh(self) -> tuple[Tensor, Truth]:
        if self._device.type != "cuda":
            pixels, truth = self._rendered()
        else:
            made = self._ready.get()
            if isinstance(made, Exception):
                raise made
            here = torch.cuda.current_stream(self._device)
            here.wait_event(made.done)
            pixels, truth = made.pixels, made.truth
            for tensor in (pixels, *(getattr(truth, f.name) for f in fields(Truth))):
                tensor.record_stream(here)
        self.rendered += len(pixels)
        return pixels, truth

    def _rendered(self) -> tuple[Tensor, Truth]:
        total = sum(SHARES[f] for f in self._families)
        pixels, truths = [], []
        for family in self._families:
            n = max(1, round(self._chunk * SHARES[family] / total))
            self._seed += 1
            rgba, truth = render(
                n,
                self._seed,
                family=family,
                close=self._close,
                device=self._device,
                geometry=self._geometry,
                size=self._size,
            )
            picture = rgba.permute(0, 3, 1, 2).half().nan_to_num(0.0).clamp(0, 60)
            if self._size != SIZE:
                factor = SIZE / self._size
                picture = nn.interpolate(
                    picture.float(), size=(SIZE, SIZE), mode="bilinear", align_corners=False
                ).half()
                truth = replace(truth, points=truth.points * factor, face_px=truth.face_px * factor)
            pixels.append(picture)
            truths.append(truth)
        return torch.cat(pixels), joined(truths)

    def _refill(self) -> None:
        pixels, truth = self._fresh()
        if self._pixels is None or self._truth is None:
            self._pixels, self._truth = pixels, truth
            while len(self._pixels) < self._pool_size:
                more, its = self._fresh()
                self._pixels, self._truth = torch.cat([self._pixels, more]), joined([self._truth, its])
            return
        n = len(self._pixels)
        at = (torch.arange(len(pixels)) + self._next) % n
        at = at.to(self._device)
        self._pixels[at] = pixels
        for f in fields(Truth):
            getattr(self._truth, f.name)[at] = getattr(truth, f.name)
        self._next = (self._next + len(pixels)) % n

    def batch(self) -> tuple[Tensor, Truth]:
        """The next photos (n, 3, size, size; network input) and their truth."""
        self._debt += self._batch / self._shows
        if self._pixels is None or self._debt >= self._chunk:
            self._refill()
            self._debt -= self._chunk
        assert self._pixels is not None
        assert self._truth is not None
        index = torch.randperm(len(self._pixels), generator=self._generator)[: self._batch].to(self._device)
        upright = self._batch
        if not self._close:  # the crops round an upright body come first: they are not turned
            standing = self._truth.up[index, 1] < _STANDING
            index, upright = index[torch.argsort((~standing).int(), stable=True)], int(standing.sum())
        truth = chosen(self._truth, index)
        pick = torch.randint(2**31 - 1, (3,), generator=self._generator)
        seed = int(pick[0])
        behind = self._behind.take(self._batch, seed)
        picture, truth = photos(self._pixels[index], truth, seed, close=self._close, behind=behind)
        parts = []
        cuts = [0, upright // 2, *torch.linspace(upright, self._batch, 2 if self._close else 5).long().tolist()]
        for i, (a, b) in enumerate(itertools.pairwise(cuts)):
            quarters = 0 if i < 2 else i + int(pick[2] % 4)
            if b > a:
                one = chosen(truth, slice(a, b))
                parts.append(moved(picture[a:b], one, mirror=(i + int(pick[1])) % 2 == 1, quarters=quarters))
        self.shown += self._batch
        return (torch.cat([p for p, _ in parts]) - 127.5) / 64, joined([t for _, t in parts])
