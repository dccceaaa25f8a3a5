"""From traced parts to a JPEG: smoothing the light's noise, tone curve, lens and sensor noise."""

from dataclasses import dataclass
from io import BytesIO
from pathlib import Path

import numpy as np
import warp as wp
from PIL import Image, ImageFilter
from scipy.ndimage import gaussian_filter

from .camera import Camera
from .tracer import Lights, World, as_warp_mesh, trace


@dataclass(frozen=True, kw_only=True)
class Parts:
    """Traced parts of a picture, arrays of shape (height, width, 3), depth (height, width) in metres."""

    diffuse: np.ndarray
    gloss: np.ndarray
    albedo: np.ndarray
    normal: np.ndarray
    depth: np.ndarray


def trace_parts(model, lights: Lights, camera: Camera, *, spp: int, seed: int) -> Parts:
    """Trace a merged model (see mesh.Merged) as the camera sees it."""
    mesh = as_warp_mesh(model.vertices, model.faces)
    world = World()
    world.mesh = mesh.id

    def vec3s(a):
        return wp.array(np.ascontiguousarray(a, dtype=np.float32), dtype=wp.vec3, device="cpu")

    world.normals = vec3s(model.normals)
    world.texture = vec3s(model.texture)
    world.colour = vec3s(model.colour)
    world.colour2 = vec3s(model.colour2)
    world.face_material = wp.array(model.face_material.astype(np.int32), dtype=int, device="cpu")
    world.table = wp.array(model.material_table.astype(np.float32), dtype=float, device="cpu")
    world.key_position = wp.vec3(*map(float, lights.key_position))
    world.key_radius = float(lights.key_radius)
    world.key_colour = wp.vec3(*map(float, lights.key_colour))
    world.up = wp.vec3(*map(float, lights.up))
    world.sky = wp.vec3(*map(float, lights.sky_colour))
    world.ground = wp.vec3(*map(float, lights.ground_colour))
    w, h = camera.width, camera.height
    out = [wp.zeros(w * h, dtype=wp.vec3, device="cpu") for _ in range(4)]
    depth = wp.zeros(w * h, dtype=float, device="cpu")
    wp.launch(
        trace,
        dim=w * h,
        inputs=[
            world,
            wp.vec3(*map(float, camera.eye)),
            wp.vec3(*map(float, camera.right)),
            wp.vec3(*map(float, camera.up)),
            wp.vec3(*map(float, camera.forward)),
            float(camera.tan_half),
            w,
            h,
            float(camera.lens),
            float(camera.focus),
            spp,
            seed,
            *out,
            depth,
        ],
        device="cpu",
    )
    d, g, a, n = (x.numpy().reshape(h, w, 3) for x in out)
    return Parts(diffuse=d, gloss=g, albedo=a, normal=n, depth=depth.numpy().reshape(h, w))


def smooth_light(light: np.ndarray, parts: Parts, *, rounds: int = 5, sigma: float = 0.5) -> np.ndarray:
    """Edge-avoiding wavelet smoothing of a light buffer: edges of normal, distance and light itself are kept."""
    kernel = np.array([1, 4, 6, 4, 1], dtype=np.float32) / 16
    out = light.astype(np.float32)
    normal, depth = parts.normal.astype(np.float32), parts.depth.astype(np.float32)
    h, w = depth.shape
    for level in range(rounds):
        step = 1 << level
        total = np.zeros_like(out)
        weight_sum = np.zeros(out.shape[:2], dtype=np.float32)
        s = np.float32(sigma / (1 << level))
        guide = gaussian_filter(out.mean(axis=2), 1.2)  # single paths are too noisy to compare
        reach = 2 * step
        wide = [np.pad(a, [(reach, reach), (reach, reach)] + [(0, 0)] * (a.ndim - 2), mode="edge")
                for a in (out, normal, depth, guide)]  # fmt: skip
        for i, ky in enumerate(kernel):
            for j, kx in enumerate(kernel):
                cut = (slice(i * step, i * step + h), slice(j * step, j * step + w))
                there, normal_there, depth_there, guide_there = (a[cut] for a in wide)
                dn = np.sum((normal_there - normal) ** 2, axis=2)
                dd = np.abs(depth_there - depth) / np.float32(0.004 * step)
                dl = np.abs(guide_there - guide) / (guide + np.float32(0.05))
                weight = ky * kx * np.exp(-dn / np.float32(0.06) - dd - (dl / s) ** 2)
                total += there * weight[..., None]
                weight_sum += weight
        out = total / np.maximum(weight_sum, 1e-6)[..., None]
    return out


def tone(linear: np.ndarray, exposure: float) -> np.ndarray:
    """A gentle film curve with a soft shoulder, to 0..1 with the usual display gamma."""
    x = np.maximum(linear * exposure, 0)
    x = x * (1 + x / 6.0) / (1 + x * 0.92)
    x = np.clip(x * 1.02, 0, 1)
    return np.where(x <= 0.0031308, 12.92 * x, 1.055 * np.power(np.maximum(x, 1e-8), 1 / 2.4) - 0.055)


def with_contrast(shown: np.ndarray, contrast: float) -> np.ndarray:
    """Display values 0..1 with deeper shades and clearer colours; 0 leaves them as they are, 1 is strong."""
    x = np.clip(shown, 0, 1)
    curved = x + contrast * (x * x * (3 - 2 * x) - x)
    grey = curved.mean(axis=2, keepdims=True)
    return np.clip(grey + (curved - grey) * (1 + 0.3 * contrast), 0, 1)


def develop(
    parts: Parts, *, exposure: float, tint, noise: float, seed: int, blur_px: float = 0.0, contrast: float = 0.0
) -> Image.Image:
    """The finished picture."""
    light = smooth_light(parts.diffuse, parts)
    gloss = smooth_light(parts.gloss, parts, rounds=2, sigma=0.6)
    linear = (light * parts.albedo + gloss) * np.asarray(tint, dtype=np.float32)
    shown = tone(linear, exposure)
    h, w = shown.shape[:2]
    y, x = np.mgrid[0:h, 0:w]
    r2 = ((x / w - 0.5) ** 2 + (y / h - 0.5) ** 2)[..., None]
    shown = shown * (1 - 0.16 * r2)
    if contrast:
        shown = with_contrast(shown, contrast)
    rng = np.random.default_rng(seed)
    grain = rng.normal(0, noise, (h, w, 1)) + rng.normal(0, noise * 0.5, (h, w, 3))
    image = Image.fromarray((np.clip(shown, 0, 1) * 255).astype(np.uint8))
    if blur_px:
        image = image.filter(ImageFilter.GaussianBlur(blur_px))
    grained = np.asarray(image, dtype=np.float32) + grain * 255
    return Image.fromarray(np.clip(grained + 0.5, 0, 255).astype(np.uint8))


def save_jpeg(image: Image.Image, path: Path, *, limit_bytes: int = 500_000) -> int:
    """Write a JPEG without metadata, at the best quality that stays below the limit; returns the bytes written."""
    for quality in range(92, 50, -3):
        buffer = BytesIO()
        image.save(buffer, "JPEG", quality=quality, optimize=True, subsampling=0 if quality > 85 else 2)
        if buffer.tell() <= limit_bytes:
            break
    path.write_bytes(buffer.getvalue())
    return buffer.tell()
