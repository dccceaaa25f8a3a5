"""Parts of a scene as meshes with colour, texture place and material, and their merging into one."""

from dataclasses import dataclass, field

import numpy as np
import trimesh.remesh

from .materials import MATERIALS


def vertex_normals(vertices: np.ndarray, faces: np.ndarray) -> np.ndarray:
    """Area-weighted normals (n, 3)."""
    a, b, c = (vertices[faces[:, i]] for i in range(3))
    face = np.cross(b - a, c - a)
    out = np.zeros_like(vertices)
    for i in range(3):
        np.add.at(out, faces[:, i], face)
    return out / np.maximum(np.linalg.norm(out, axis=1, keepdims=True), 1e-20)


@dataclass(frozen=True, kw_only=True)
class Part:
    """One mesh: vertices (n, 3) metres, faces (m, 3), texture places (n, 3) metres, linear colours (n, 3)."""

    name: str
    vertices: np.ndarray
    faces: np.ndarray
    texture: np.ndarray
    colour: np.ndarray
    colour2: np.ndarray | None = None
    material: str = "skin"
    face_materials: np.ndarray | None = None
    normals: np.ndarray | None = None


@dataclass(frozen=True, kw_only=True)
class Merged:
    """All parts as one mesh, with the range of faces that each part owns."""

    vertices: np.ndarray
    faces: np.ndarray
    normals: np.ndarray
    texture: np.ndarray
    colour: np.ndarray
    colour2: np.ndarray
    face_material: np.ndarray
    material_table: np.ndarray
    part_of_face: np.ndarray
    names: list[str] = field(default_factory=list)


def merge(parts: list[Part]) -> Merged:
    """One mesh of many parts."""
    index = {name: i for i, name in enumerate(MATERIALS)}
    offset, faces, materials, owner = 0, [], [], []
    for number, part in enumerate(parts):
        faces.append(part.faces + offset)
        offset += len(part.vertices)
        if part.face_materials is not None:
            materials.append(np.array([index[m] for m in part.face_materials]))
        else:
            materials.append(np.full(len(part.faces), index[part.material]))
        owner.append(np.full(len(part.faces), number))
    return Merged(
        vertices=np.concatenate([p.vertices for p in parts]),
        faces=np.concatenate(faces),
        normals=np.concatenate(
            [vertex_normals(p.vertices, p.faces) if p.normals is None else p.normals for p in parts]
        ),
        texture=np.concatenate([p.texture for p in parts]),
        colour=np.concatenate([p.colour for p in parts]),
        colour2=np.concatenate([p.colour if p.colour2 is None else p.colour2 for p in parts]),
        face_material=np.concatenate(materials),
        material_table=np.array([m.row() for m in MATERIALS.values()]),
        part_of_face=np.concatenate(owner),
        names=[p.name for p in parts],
    )


def loop_smooth(vertices: np.ndarray, faces: np.ndarray):
    """One round of Loop subdivision (curved surfaces without facets)."""
    v, f = trimesh.remesh.subdivide_loop(vertices, faces, iterations=1)
    return np.asarray(v), np.asarray(f)


def clipped(vertices: np.ndarray, faces: np.ndarray, keep: np.ndarray, attributes: dict[str, np.ndarray]):
    """The surface where the vertex field `keep` is above 0, cut along its zero line.

    Returns vertices, faces, attributes and the edges (k, 2) of the cut.
    """
    state = keep > 0
    count = state[faces].sum(axis=1)
    whole = faces[count == 3]
    arrays = {"__v": vertices, "__k": keep[:, None], **attributes}
    new = {k: [a] for k, a in arrays.items()}
    total = len(vertices)

    def crossing(i: np.ndarray, j: np.ndarray) -> np.ndarray:
        nonlocal total
        t = (keep[i] / (keep[i] - keep[j]))[:, None]
        for k, a in arrays.items():
            new[k].append(a[i] * (1 - t) + a[j] * t)
        out = np.arange(total, total + len(i))
        total += len(i)
        return out

    added, edges = [whole], []
    for wanted, inside in ((1, True), (2, False)):
        chosen = faces[count == wanted]
        if not len(chosen):
            continue
        lone = np.argmax(state[chosen] == inside, axis=1)
        rows = np.arange(len(chosen))
        a, b, c = (chosen[rows, (lone + k) % 3] for k in range(3))
        p, q = crossing(a, b), crossing(a, c)
        if inside:
            added.append(np.stack([a, p, q], axis=1))
            edges.append(np.stack([p, q], axis=1))
        else:
            added += [np.stack([p, b, c], axis=1), np.stack([p, c, q], axis=1)]
            edges.append(np.stack([q, p], axis=1))
    merged = {k: np.concatenate(a) for k, a in new.items()}
    out_faces = np.concatenate(added)
    cut = np.concatenate(edges) if edges else np.zeros((0, 2), dtype=int)
    # crossings of one edge come from two faces: weld them
    places, inverse = np.unique(np.round(merged["__v"] * 1e7).astype(np.int64), axis=0, return_inverse=True)
    inverse = inverse.ravel()
    first = np.zeros(len(places), dtype=int)
    first[inverse[::-1]] = np.arange(len(inverse))[::-1]
    used, out_faces2 = np.unique(inverse[out_faces], return_inverse=True)
    renumber = np.full(len(places), -1)
    renumber[used] = np.arange(len(used))
    pick = first[used]
    return (
        merged["__v"][pick],
        out_faces2.reshape(-1, 3),
        {k: merged[k][pick] for k in attributes},
        renumber[inverse[cut]],
    )


def relaxed(vertices: np.ndarray, faces: np.ndarray, rounds: int, share: float = 0.5) -> np.ndarray:
    """Vertices moved towards the mean of their neighbours; the rim stays."""
    edges = np.concatenate([faces[:, [0, 1]], faces[:, [1, 2]], faces[:, [2, 0]]])
    both = np.concatenate([edges, edges[:, ::-1]])
    key = np.sort(edges, axis=1)
    _, inverse, counts = np.unique(key, axis=0, return_inverse=True, return_counts=True)
    rim = np.zeros(len(vertices), dtype=bool)
    rim[edges[counts[inverse.ravel()] == 1].ravel()] = True
    degree = np.bincount(both[:, 0], minlength=len(vertices))[:, None]
    v = vertices.copy()
    for _ in range(rounds):
        mean = np.stack([np.bincount(both[:, 0], v[both[:, 1], k], len(v)) for k in range(3)], axis=1)
        moved = v + share * (mean / np.maximum(degree, 1) - v)
        v = np.where(rim[:, None], v, moved)
    return v
