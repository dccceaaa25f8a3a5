"""The door to the compiled renderer: builds it for the CPU or the GPU, and draws batches of scenes.

Layouts (float32, one row a scene; lengths in face sizes, directions unit vectors)
----------------------------------------------------------------------------------
cam (20)      eye 3, right 3, up 3, forward 3, focal length in pixels (orthographic: pixels a unit), centre x, y,
              orthographic?, nearest distance
light (20)    direction 3, colour 3, sky 3, ground 3, occlusion, share that shadows take, hardness, up 3
groups (7,20) world to local: rotation 9, shift 3; mirrored about z = 0?; bounding sphere centre 3, radius (0: off);
              first and last + 1 of its prims
prims (m,16)  kind (0 ellipsoid, 1 round cone, 2 rounded box, 3 ring, -1 off), group, material, blend, hollow?, a 3,
              b 3, ra, rb or angle about z, softness of colour, cosine and sine of the angle
mats (24,12)  rgb, shine, gloss, pattern, its scale, second rgb, grain
breast (32)   see `scene.BREAST`
"""

import ctypes
import hashlib
import os
import shutil
import subprocess
import tempfile
from dataclasses import dataclass, fields, replace
from functools import cache
from pathlib import Path

import torch
from torch import Tensor

SOURCE = Path(__file__).with_name("render.cu")
#: Depth of what is not there, as in the source.
FAR = 90.0
#: Side of the map of how far the breast gives way.
GIVE_N = 96
SHADOW_N = 160


@dataclass(frozen=True, kw_only=True)
class Mesh:
    """Triangles of a batch: verts and normals (n, v, 3), colours (n, v, 4: rgb, material), neutral (v, 3), faces (f, 3)."""

    verts: Tensor
    normals: Tensor
    colours: Tensor
    neutral: Tensor
    faces: Tensor


@dataclass(frozen=True, kw_only=True)
class Scenes:
    """A batch of scenes as the renderer takes it; all tensors on one device."""

    cam: Tensor
    light: Tensor
    groups: Tensor
    prims: Tensor
    mats: Tensor
    breast: Tensor
    give: Tensor | None = None
    mesh: Mesh | None = None

    @property
    def n(self) -> int:
        """Scenes in the batch."""
        return int(self.cam.shape[0])


_POINTERS = (
    "cam", "light", "groups", "prims", "mats", "breast", "give", "light_cam", "verts", "normals", "colours", "neutral",
    "faces", "zbuf", "shadow",
)  # fmt: skip
_NUMBERS = ("n_prims", "give_n", "with_breast", "n_verts", "n_faces", "shadow_n", "n", "w", "h")


class _Call(ctypes.Structure):
    _fields_ = [(name, ctypes.c_void_p) for name in _POINTERS] + [(name, ctypes.c_int) for name in _NUMBERS]


class RenderFailed(RuntimeError):
    """The renderer could not be built, or the device refused a call."""


def _command(device: str, out: Path) -> list[str]:
    if device == "cuda":
        flags = ["-O3", "-arch=sm_90", "--use_fast_math", "-Xcompiler", "-fPIC", "-shared"]
        return [shutil.which("nvcc") or "nvcc", *flags, str(SOURCE), "-o", str(out)]
    flags = ["-O3", "-march=native", "-ffast-math", "-fopenmp", "-shared", "-fPIC", "-x", "c++"]
    return [shutil.which("g++") or "g++", *flags, str(SOURCE), "-o", str(out)]


@cache
def library(device: str) -> ctypes.CDLL:
    """The compiled renderer for "cpu" or "cuda", built at first use and kept by the hash of its source."""
    digest = hashlib.sha256(SOURCE.read_bytes()).hexdigest()[:16]
    folder = Path(os.environ.get("LATCH_RENDER_CACHE", Path(tempfile.gettempdir()) / f"latch-render-{os.getuid()}"))
    folder.mkdir(parents=True, exist_ok=True)
    out = folder / f"render-{device}-{digest}.so"
    if not out.exists():
        part = out.with_suffix(f".{os.getpid()}.part")
        try:
            done = subprocess.run(_command(device, part), capture_output=True, text=True, check=False)
        except OSError as error:
            raise RenderFailed(f"no compiler for the {device} renderer: {error}") from error
        if done.returncode != 0:
            raise RenderFailed(f"building the {device} renderer failed: {done.stderr.strip()[:500]}")
        part.replace(out)
    return ctypes.CDLL(str(out))


def _call(scenes: Scenes, *, w: int, h: int, breast: bool, kept: list[Tensor], **more: Tensor | None) -> _Call:
    def pointer(tensor: Tensor | None, dtype: torch.dtype) -> int | None:
        if tensor is None:
            return None
        held = tensor.to(dtype).contiguous()
        kept.append(held)
        return held.data_ptr()

    call = _Call(n=scenes.n, w=w, h=h, with_breast=int(breast), n_prims=scenes.prims.shape[1], give_n=GIVE_N)
    for field in fields(scenes):
        value = getattr(scenes, field.name)
        if field.name != "mesh":
            setattr(call, field.name, pointer(value, torch.float32))
    if scenes.mesh is not None:
        for name in ("verts", "normals", "colours", "neutral"):
            setattr(call, name, pointer(getattr(scenes.mesh, name), torch.float32))
        call.faces = pointer(scenes.mesh.faces, torch.int32)
        call.n_verts, call.n_faces = scenes.mesh.verts.shape[1], scenes.mesh.faces.shape[0]
    for name, value in more.items():
        setattr(call, name, pointer(value, torch.int64 if name in ("zbuf", "shadow") else torch.float32))
    call.shadow_n = SHADOW_N
    return call


def _stream(device: torch.device) -> int | None:
    return int(torch.cuda.current_stream(device).cuda_stream) if device.type == "cuda" else None


def _check(code: int) -> None:
    if code != 0:
        raise RenderFailed(f"the device refused a call of the renderer, code {code}")


def _pointer(tensor: Tensor | None) -> ctypes.c_void_p:
    return ctypes.c_void_p(None if tensor is None else tensor.data_ptr())


def raster(scenes: Scenes, cam: Tensor, w: int, h: int) -> Tensor | None:
    """The z-buffer (n, h, w, int64) of the batch's mesh as `cam` (n, 20) sees it; None without a mesh."""
    if scenes.mesh is None:
        return None
    device, kept = cam.device, [cam.contiguous()]
    zbuf = torch.full((scenes.n, h, w), -1, dtype=torch.int64, device=device)
    call = _call(scenes, w=w, h=h, breast=False, kept=kept)
    stream = ctypes.c_void_p(_stream(device))
    _check(library(device.type).raster(ctypes.byref(call), _pointer(kept[0]), _pointer(zbuf), w, h, stream))
    return zbuf


def depth_map(scenes: Scenes, cam: Tensor, size: int) -> Tensor:
    """Depth (n, size, size) of the batch without its breast, seen by another camera."""
    seen = replace(scenes, cam=cam)
    zbuf, kept = raster(seen, cam, size, size), []
    out = torch.empty(scenes.n, size, size, device=cam.device)
    call = _call(seen, w=size, h=size, breast=False, kept=kept, zbuf=zbuf)
    stream = ctypes.c_void_p(_stream(cam.device))
    _check(library(cam.device.type).draw(ctypes.byref(call), _pointer(None), _pointer(out), stream))
    return out


def draw(scenes: Scenes, light_cam: Tensor, size: int, probes: Tensor) -> tuple[Tensor, Tensor]:
    """Pictures (n, size, size, 4; linear light and cover) and how far in front of each probe (n, l, 3) the view stops."""
    device, kept = scenes.cam.device, []
    zbuf = raster(scenes, scenes.cam, size, size)
    shadow = raster(scenes, light_cam, SHADOW_N, SHADOW_N)
    call = _call(scenes, w=size, h=size, breast=True, kept=kept, zbuf=zbuf, shadow=shadow, light_cam=light_cam)
    rgba = torch.empty(scenes.n, size, size, 4, device=device)
    blocked = torch.empty(probes.shape[:2], device=device)
    points, stream = probes.float().contiguous(), ctypes.c_void_p(_stream(device))
    lib = library(device.type)
    _check(lib.draw(ctypes.byref(call), _pointer(rgba), _pointer(None), stream))
    _check(lib.look(ctypes.byref(call), _pointer(points), points.shape[1], _pointer(blocked), stream))
    return rgba, blocked
