"""Whole scenes: a doll of some family, breast model, props, camera and light, drawn, with the truth beside it."""

from dataclasses import dataclass, replace
from pathlib import Path

import torch
from torch import Tensor

from vision.training.anatomy import LOWER, UPPER, Anatomy
from vision.training.body_mesh import body_dolls, load_body
from vision.training.breast import areola_ring, breast, furthest_seen, giving_way, nearest_places
from vision.training.doll_body import body
from vision.training.doll_head import head
from vision.training.looks import light, materials
from vision.training.props import adult_head, props
from vision.training.renderer import SHADOW_N, Mesh, Scenes, draw
from vision.training.rng import Draws
from vision.training.solids import ADULT, BODY, HEAD, N_GROUPS, PROPS, Solids
from vision.training.view import SIZE, View, close_view, light_camera, project, side_view, whole_view

#: How far in front of a landmark the view may be stopped while it still counts as seen, face sizes.
SEEN_WITHIN = torch.tensor([0.055] * 5 + [0.12, 0.3, 0.42] + [0.055] * 4)
TRAIN_FAMILIES = ("solid", "toy", "body")


@dataclass(frozen=True, kw_only=True)
class Truth:
    """What is true of each picture (n, ...): pixels of the picture, degrees, face sizes.

    points (n, 12, 2); visibility (n, 12) 0 outside, 1 hidden, 2 seen; depths (n, 2) of the lip edges before the corner;
    half_mouth (n,) sideways distance of the corner from the midline; up (n, 2); tone (n,) 0 to 9; contact (n,).
    """

    points: Tensor
    visibility: Tensor
    yaw_deg: Tensor
    elevation_deg: Tensor
    trunk_off_deg: Tensor
    gape_deg: Tensor
    depths: Tensor
    half_mouth: Tensor
    up: Tensor
    face_px: Tensor
    tone: Tensor
    contact: Tensor


def _groups(d: Draws, trunk: Tensor, pivot: Tensor, camera_turn: Tensor, adult: tuple[Tensor, Tensor],
            spheres: dict[int, Tensor], ranges: list[tuple[int, int]], solid: bool) -> Tensor:  # fmt: skip
    out = torch.zeros(d.n, N_GROUPS, 20, device=d.device)
    eye = torch.eye(3, device=d.device).flatten()
    out[:, HEAD, 0:9], out[:, HEAD, 12], out[:, HEAD, 14], out[:, HEAD, 16] = eye, 1, 0.1, 2.1 if solid else 0
    inward = trunk.transpose(1, 2)
    out[:, BODY, 0:9] = inward.flatten(1)
    out[:, BODY, 9:12] = -(inward @ pivot[..., None])[..., 0]
    out[:, BODY, 13], out[:, BODY, 14], out[:, BODY, 16] = 0.5, -2.4, 4.8 if solid else 0
    out[:, PROPS, 0:9], out[:, PROPS, 16] = camera_turn.flatten(1), 40
    for group, sphere in spheres.items():
        out[:, group, 0:9], out[:, group, 13:17] = camera_turn.flatten(1), sphere
    out[:, :, 17:19] = torch.tensor(ranges, dtype=torch.float32, device=d.device)
    turn, place = adult
    out[:, ADULT, 0:9], out[:, ADULT, 9:12] = turn.flatten(1), -(turn @ place[..., None])[..., 0]
    out[:, ADULT, 12], out[:, ADULT, 16] = 1, 4.2
    return out


def _doll(
    d: Draws, family: str, mats: Tensor, s: Solids, geometry: Path | None, held_out: bool
) -> tuple[Anatomy, Mesh | None, Tensor]:
    if family == "body":
        if geometry is None:
            raise ValueError("the body family needs its exported geometry")
        anatomy, mesh = body_dolls(d, load_body(geometry, d.device, held_out=held_out), mats)
        return anatomy, mesh, torch.zeros(d.n, 3, device=d.device)
    if family == "profile":
        from vision.training.profile_family import profile_dolls

        return profile_dolls(d, mats, s)
    face, _ = head(s, d, toy=family == "toy")
    joints, trunk, pivot = body(s, d, toy=family == "toy")
    flip = torch.tensor([1.0, 1.0, -1.0], device=d.device)
    right = torch.cat([face, joints[:, 0:1], joints[:, 2:3]], dim=1)
    left = torch.cat([face * flip, joints[:, 1:2], joints[:, 3:4]], dim=1)
    return Anatomy(right=right, left=left, trunk=trunk), None, pivot


@dataclass(frozen=True, kw_only=True)
class Built:
    """A batch of scenes before it is drawn."""

    scenes: Scenes
    anatomy: Anatomy
    view: View
    light_cam: Tensor
    tone: Tensor
    contact: Tensor


def build(n: int, seed: int, *, family: str, close: bool, device: torch.device, geometry: Path | None = None,
          size: int = SIZE, held_out: bool = False, side: bool = False) -> Built:  # fmt: skip
    """`n` scenes of one family as the renderer takes them.

    `close` frames the upright head, `side` a test's side view of all, else the whole picture from anywhere.
    """
    d = Draws(n, seed, device)
    s = Solids(n, device)
    mats, tone = materials(d)
    anatomy, mesh, pivot = _doll(d, family, mats, s, geometry, held_out)
    gap = (anatomy.right[:, UPPER] - anatomy.right[:, LOWER]).norm(dim=1)
    row, contact = breast(d, anatomy, gap)
    frame = side_view if side else close_view if close else whole_view
    view = frame(d, anatomy)
    cam = view.cam.clone()
    cam[:, 12:15] *= size / SIZE
    camera_turn = torch.stack([cam[:, 3:6], cam[:, 6:9], -cam[:, 9:12]], dim=1)
    trunk = (anatomy.right[:, 6:8] + anatomy.left[:, 6:8]) / 2
    spheres = props(s, d, row, trunk, camera_turn)
    adult = adult_head(s, d, camera_turn)
    lights = light(d, cam)
    rows, ranges = s.rows()
    solid = mesh is None or family == "profile"
    groups = _groups(d, anatomy.trunk, pivot, camera_turn, adult, spheres, ranges, solid)
    scenes = Scenes(cam=cam, light=lights, prims=rows, mats=mats, breast=row, mesh=mesh, groups=groups)
    scenes = replace(scenes, give=giving_way(scenes))
    return Built(
        scenes=scenes, anatomy=anatomy, view=view, light_cam=light_camera(lights, anatomy, SHADOW_N), tone=tone,
        contact=contact,
    )  # fmt: skip


def render(n: int, seed: int, *, family: str, close: bool, device: torch.device, geometry: Path | None = None,
           size: int = SIZE, held_out: bool = False, side: bool = False) -> tuple[Tensor, Truth]:  # fmt: skip
    """`n` pictures (n, size, size, 4; linear light and cover) of one family, with their truth."""
    built = build(
        n, seed, family=family, close=close, device=device, geometry=geometry, size=size, held_out=held_out, side=side
    )
    return _drawn(built, size)


def _drawn(built: Built, size: int) -> tuple[Tensor, Truth]:
    scenes, anatomy, view = built.scenes, built.anatomy, built.view
    pick = lambda right, i: torch.where(right[:, None, None], anatomy.right[:, i], anatomy.left[:, i])  # noqa: E731
    doll = torch.cat([pick(view.head_right, slice(0, 6)), pick(view.trunk_right, slice(6, 8))], dim=1)
    assert scenes.give is not None
    at_breast = nearest_places(scenes.breast, scenes.give, doll[:, [3, 4]])
    ring = areola_ring(scenes.breast, scenes.give)
    rgba, blocked = draw(scenes, built.light_cam, size, torch.cat([doll, at_breast, ring], dim=1))
    areola = furthest_seen(scenes.breast, ring, blocked[:, 10:] < 0.02, doll[:, [UPPER, LOWER]])
    points = torch.cat([doll, at_breast, areola], dim=1)
    pixels = project(scenes.cam, points)
    none = torch.zeros_like(blocked[:, :2])
    stops = torch.cat([blocked[:, :10], none], dim=1)
    lips_seen = stops[:, [UPPER, LOWER]]
    same = (areola - doll[:, [UPPER, LOWER]]).norm(dim=-1) < 1e-4
    stops[:, 10:] = torch.where(same, lips_seen, stops[:, 10:])
    seen = stops < SEEN_WITHIN.to(stops.device)
    inside = ((pixels >= 0) & (pixels < size)).all(dim=-1)
    there = torch.ones_like(inside)
    there[:, 8:] = (scenes.breast[:, 0] > 0.5)[:, None]
    visibility = torch.where(seen, 2, 1) * (inside & there)
    truth = Truth(
        points=pixels, visibility=visibility, yaw_deg=view.yaw_deg, elevation_deg=view.elevation_deg,
        trunk_off_deg=view.trunk_off_deg, gape_deg=anatomy.gape_deg(), depths=anatomy.lip_depths(),
        half_mouth=anatomy.right[:, 0, 2].abs(), up=view.up, face_px=view.face_px * size / SIZE, tone=built.tone,
        contact=built.contact,
    )  # fmt: skip
    return rgba, truth
