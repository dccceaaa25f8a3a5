"""The recipe of the own network in small, on a CPU: scenes, truth, losses, a few steps, the export.

Needs vision/training/requirements.txt and g++; elsewhere these tests skip. Run them in that environment with

    python -m pytest --confcutdir=tests/training tests/training
"""

import shutil
from dataclasses import dataclass, replace
from pathlib import Path

import numpy as np
import pytest

torch = pytest.importorskip("torch", reason="PyTorch is not here: vision/training/requirements.txt has it")
pytest.importorskip("onnx", reason="onnx is not here: vision/training/requirements.txt has it")
if shutil.which("g++") is None:
    pytest.skip("no g++ on this machine to build the renderer with", allow_module_level=True)

from vision.training.anatomy import LANDMARKS
from vision.training.backgrounds import Backgrounds
from vision.training.cloth import dressed, neighbours
from vision.training.export import export_net
from vision.training.limbs import limb_directions
from vision.training.losses import losses
from vision.training.network import OUTPUTS, SIZE, ProfileNet
from vision.training.pictures import moved, photos
from vision.training.renderer import draw
from vision.training.rng import Draws, arc, unit
from vision.training.scenes import Truth, build, render
from vision.training.stream import Stream
from vision.training.train import Plan, train
from vision.training.view import project

CPU = torch.device("cpu")
FAMILIES = ("solid", "toy", "profile")


@pytest.fixture(scope="module")
def side_views() -> dict[str, tuple["torch.Tensor", Truth]]:
    """A few small renders of each family that needs no exported geometry."""
    return {f: render(6, 11, family=f, close=False, device=CPU, size=96, side=True) for f in FAMILIES}


def test_the_same_seed_gives_the_same_picture_and_another_seed_another() -> None:
    """A training run can be made again."""
    first, second, other = (render(1, seed, family="toy", close=True, device=CPU, size=48)[0] for seed in (3, 3, 4))
    assert torch.equal(first, second)
    assert not torch.equal(first, other)


@pytest.mark.parametrize("family", FAMILIES)
def test_a_scene_shows_a_doll_and_says_where_its_parts_are(
    side_views: dict[str, tuple["torch.Tensor", Truth]], family: str
) -> None:
    """Nothing is undefined, most landmarks of a side view lie inside, and the nose lies before the ear by the yaw."""
    picture, truth = side_views[family]
    assert torch.isfinite(picture).all()
    assert picture[..., 3].mean() > 0.2
    assert truth.points.shape == (6, len(LANDMARKS), 2)
    assert (truth.visibility[:, :6] > 0).float().mean() > 0.9
    assert ((truth.yaw_deg > 59) & (truth.yaw_deg < 121)).all()
    apart = (truth.points[:, 3] - truth.points[:, 5]).norm(dim=1) / truth.face_px
    assert ((apart > 0.2) & (apart < 1.8)).all()


def test_the_true_yaw_is_the_angle_to_the_line_from_mouth_to_camera() -> None:
    """As the design defines it; also the face size at the mouth's depth."""
    built = build(8, 5, family="solid", close=False, device=CPU, size=64)
    eye, mouth = built.scenes.cam[:, 0:3], built.anatomy.mouth_middle()
    sight = (eye - mouth) / (eye - mouth).norm(dim=1, keepdim=True)
    assert torch.allclose(torch.rad2deg(torch.acos(sight[:, 0])), built.view.yaw_deg, atol=0.05)
    assert torch.allclose(torch.rad2deg(torch.asin(sight[:, 1])), built.view.elevation_deg, atol=0.05)
    across = built.scenes.cam[:, 3:6]
    ends = project(built.scenes.cam, torch.stack([mouth, mouth + across], dim=1))
    assert torch.allclose((ends[:, 1] - ends[:, 0]).norm(dim=1), built.view.face_px * 64 / SIZE, rtol=0.02)


def test_the_true_gape_is_read_in_the_sagittal_plane() -> None:
    """A closed mouth has 0; the angle does not change when the corner lies further to the side."""
    anatomy = build(16, 6, family="solid", close=False, device=CPU, size=16).anatomy
    wider = anatomy.right.clone()
    wider[:, 0, 2] += 0.3
    assert torch.allclose(replace(anatomy, right=wider).gape_deg(), anatomy.gape_deg())
    shut = anatomy.right.clone()
    shut[:, 1] = shut[:, 2]
    assert replace(anatomy, right=shut).gape_deg().max() < 0.1


def test_mirrored_and_turned_photos_keep_their_truth_on_the_same_pixels(
    side_views: dict[str, tuple["torch.Tensor", Truth]],
) -> None:
    """A mark painted at a landmark is found at the landmark's new place."""
    _, truth = side_views["solid"]
    inside = (truth.points[:, 3] > 6).all(dim=1) & (truth.points[:, 3] < 90).all(dim=1)
    assert inside.any()
    canvas = torch.zeros(6, 3, 96, 96)
    for i in range(6):
        x, y = truth.points[i, 3].floor().long().clamp(0, 95).tolist()
        canvas[i, :, y, x] = 1
    for mirror in (False, True):
        for quarters in range(4):
            picture, its = moved(canvas, truth, mirror=mirror, quarters=quarters)
            for i in inside.nonzero()[:, 0].tolist():
                y, x = np.unravel_index(int(picture[i, 0].argmax()), (96, 96))
                assert abs(x + 0.5 - float(its.points[i, 3, 0])) <= 0.51
                assert abs(y + 0.5 - float(its.points[i, 3, 1])) <= 0.51


@pytest.mark.parametrize("family", ["solid", "profile"])
def test_leaving_out_solids_that_a_tile_cannot_meet_changes_no_picture(family: str) -> None:
    """Moving the picture by half a tile gives every tile other solids, and still the same picture, moved."""
    built = build(3, 21, family=family, close=False, device=CPU, size=64, side=True)
    nothing = torch.zeros(3, 1, 3)
    first, _ = draw(built.scenes, built.light_cam, 64, nothing)
    cam = built.scenes.cam.clone()
    cam[:, 13:15] += 8
    second, _ = draw(replace(built.scenes, cam=cam), built.light_cam, 64, nothing)
    a, b = first[:, :56, :56], second[:, 8:, 8:]
    assert ((a[..., 3] != b[..., 3]).float().mean()) < 0.002
    assert ((a - b).abs().amax(dim=-1) > 0.3).float().mean() < 0.01


def test_the_smallest_turn_takes_one_direction_to_the_other() -> None:
    """And is a turn: it keeps lengths and has no mirror."""
    d = Draws(50, 4, CPU)
    a, b = unit(d.normal(0, 1, 3)), unit(d.normal(0, 1, 3))
    turn = arc(a, b)
    assert torch.allclose((turn @ a[..., None])[..., 0], b, atol=1e-4)
    assert torch.allclose(torch.linalg.det(turn), torch.ones(50), atol=1e-4)


def test_limbs_are_drawn_at_the_side_raised_and_bent() -> None:
    """Arms above the shoulder, thighs before the belly, and both limbs of a side on that side more often than not."""
    arm, _, thigh, _ = limb_directions(Draws(2000, 8, CPU), 1.0)
    assert 0.05 < (arm[:, 1] > 0.1).float().mean() < 0.3
    assert 0.4 < (arm[:, 1] < -0.8).float().mean() < 0.8
    assert (thigh[:, 0] > 0.9).float().mean() > 0.1
    assert (arm[:, 2] > 0).float().mean() > 0.6
    assert torch.allclose(arm.norm(dim=1), torch.ones(2000), atol=1e-5)


@dataclass(frozen=True, kw_only=True)
class Ball:
    """A body that is one ball of six corners."""

    neutral: "torch.Tensor"
    faces: "torch.Tensor"
    beside: "torch.Tensor"


def test_cloth_stands_off_the_skin_everywhere_and_leaves_the_bare_skin_where_it_is() -> None:
    """At most about a quarter of a face size, never inside the body, on forty dolls."""
    corners = torch.tensor([[1.0, 0, 0], [-1, 0, 0], [0, 1, 0], [0, -1, 0], [0, 0, 1], [0, 0, -1]])
    faces = np.array(
        [[y, x, z] if x + y + z & 1 else [x, y, z] for x in (0, 1) for y in (2, 3) for z in (4, 5)], np.int32
    )
    beside = torch.tensor(neighbours(faces, 6))
    assert all(set(row) == set(range(6)) - {i, i ^ 1} | {i} for i, row in enumerate(beside.tolist()))
    ball = Ball(neutral=corners * 0.1, faces=torch.tensor(faces), beside=beside)
    skin, cloth = corners.repeat(40, 1, 1), torch.ones(40, 6, dtype=torch.bool)
    cloth[:, 4:] = False
    verts, normals = dressed(Draws(40, 9, CPU), ball, skin, cloth)
    off = (verts * corners).sum(dim=-1) - 1
    assert torch.equal(verts[:, 4:], skin[:, 4:])
    assert (off[:, :4] >= 0.0079).all()
    assert off.max() < 0.27
    assert torch.isfinite(normals).all()


def test_the_loss_of_the_body_line_counts_a_bend_and_no_shift() -> None:
    """Points that are all moved alike cost no line; a shoulder moved across the line does; a turned trunk does not count."""
    _, truth = render(6, 31, family="solid", close=False, device=CPU, size=32, side=True)
    truth = replace(truth, visibility=torch.full_like(truth.visibility, 2), trunk_off_deg=torch.zeros(6))
    with torch.no_grad():
        answer = ProfileNet("tiny").eval().answer(torch.zeros(6, 3, SIZE, SIZE))

    def line(points: "torch.Tensor", its: Truth) -> float:
        return float(losses(replace(answer, points=points), its)["line"])

    bent = truth.points.clone()
    bent[:, 6] += torch.tensor([3.0, 2.0])
    assert line(truth.points + 5, truth) < 1e-3
    assert line(bent, truth) > 0.02
    assert line(bent, replace(truth, trunk_off_deg=torch.full((6,), 80.0))) == 0


def test_backgrounds_are_shown_again_turned_and_a_few_are_new_each_time() -> None:
    """Of a store of 32, four anew."""
    store = Backgrounds(32, 16, CPU, fresh=4)
    before = store.take(8, 1)
    kept = store._kept.clone()
    assert before.shape == (8, 3, 16, 16)
    assert torch.isfinite(before).all()
    store.take(8, 2)
    assert (store._kept != kept).flatten(1).any(dim=1).sum() == 4


def test_crops_round_an_upright_body_are_not_turned_by_quarters() -> None:
    """The first pictures of a batch for the finder stand upright; the others lie at any turn."""
    stream = Stream(close=False, seed=5, device=CPU, geometry=None, batch=24, chunk=24, pool=24, size=24)
    _, truth = stream.batch()
    standing = int((stream._truth.up[:, 1] < -0.85).sum())
    assert standing >= 4
    assert (truth.up[:standing, 1] < -0.85).all()
    assert (truth.up[standing:, 1] > -0.85).any()


def test_dressing_a_render_as_a_photo_only_ever_hides_landmarks(
    side_views: dict[str, tuple["torch.Tensor", Truth]],
) -> None:
    """What a blob or a border covers is seen less than before, never more."""
    picture, truth = side_views["toy"]
    photo, its = photos(picture.permute(0, 3, 1, 2), truth, 2, close=False)
    assert photo.min() >= 0
    assert photo.max() <= 255
    assert (its.visibility <= truth.visibility).all()


def test_the_recipe_runs_on_a_hundred_renders_and_the_loss_falls(tmp_path: Path) -> None:
    """Forty-five steps of the smallest network on a hundred small renders; the run can then be gone on with."""
    plan = Plan(
        net="tiny", close=True, seed=1, minutes=1e9, total_minutes=1e9, out=tmp_path, geometry=None, device=CPU, batch=10,
        chunk=50, pool=100, steps=45, size=48, shows=1000, peak_rate=4e-3,
    )  # fmt: skip
    losses = train(plan)
    assert len(losses) == 9
    assert losses[-1] < 0.75 * losses[0]
    again = train(replace(plan, steps=5, resume=tmp_path, out=tmp_path / "on"))
    assert again[0] < losses[0]


def test_the_exported_net_answers_in_opencv_as_in_pytorch(tmp_path: Path) -> None:
    """For one picture and for several at once."""
    torch.manual_seed(0)
    net = ProfileNet("tiny").eval()
    assert export_net(net, tmp_path / "net.onnx") < 2e-3
    assert net(torch.zeros(2, 3, SIZE, SIZE)).shape == (2, OUTPUTS)
    told = net.answer(torch.zeros(1, 3, SIZE, SIZE))
    assert torch.allclose(
        told.points.flatten(1), net(torch.zeros(1, 3, SIZE, SIZE))[:, : 2 * len(LANDMARKS)], atol=1e-3
    )
