# ruff: noqa: UP018
"""Ray casting with warp: soft key light, one diffuse bounce, gloss, fabric relief, depth of field.

The result is kept in parts (diffuse light, gloss, surface colour, normal, distance), so that the noise of the light can
be smoothed without touching the texture of the surfaces.
"""

from dataclasses import dataclass

import numpy as np
import warp as wp

wp.config.quiet = True

FAR = 1.0e6

#: Columns of the material table, one row a material; see materials.py.
N_MATERIAL_COLUMNS = 12


@dataclass(frozen=True, kw_only=True)
class Lights:
    """A disk of light and the room's own light.

    Parameters
    ----------
    key_position, key_radius, key_colour
        Metres; radiant strength as seen at one metre, linear RGB.
    up : array of shape (3,)
        Direction away from the floor.
    sky_colour, ground_colour : arrays of shape (3,)
        Light from above and from below where a ray leaves the scene.
    """

    key_position: np.ndarray
    key_radius: float
    key_colour: np.ndarray
    up: np.ndarray
    sky_colour: np.ndarray
    ground_colour: np.ndarray


@wp.func
def smooth01(x: float):
    t = wp.clamp(x, 0.0, 1.0)
    return t * t * (3.0 - 2.0 * t)


@wp.func
def fabric_height(p: wp.vec3, kind: int, period: float, seed: wp.uint32):
    """Relief of the cloth at texture place p, 0 to 1: kind 1 knit, 2 woven, 3 towelling, 4 ribs."""
    k = 6.2831853 / period
    a = p[0]
    b = p[2]
    if kind == 1:
        row = wp.sin(k * b + 1.2 * wp.abs(wp.sin(k * 0.5 * a)))
        return 0.5 + 0.5 * row * wp.abs(wp.cos(k * 0.5 * a))
    if kind == 2:
        return 0.5 + 0.25 * (wp.sin(k * a) + wp.sin(k * b)) + 0.3 * wp.noise(seed, p * (2.0 / period))
    if kind == 3:
        return 0.5 + 0.5 * wp.noise(seed, p * (1.4 / period)) + 0.3 * wp.noise(seed, p * (3.1 / period))
    if kind == 4:
        return 0.5 + 0.5 * wp.sin(k * a)
    return 0.5


@wp.func
def pattern_mix(p: wp.vec3, kind: int, size: float):
    """Share of the second cloth colour at texture place p: kind 1 stripes, 2 dots, 3 small leaves."""
    if kind == 1:
        s = wp.sin(6.2831853 * p[2] / size)
        return smooth01(s * 6.0 + 0.5)
    if kind == 2:
        row = wp.floor(p[2] / size)
        shift = 0.5 * (row - 2.0 * wp.floor(row * 0.5))
        u = p[0] / size + shift
        v = p[2] / size
        du = u - wp.floor(u) - 0.5
        dv = v - wp.floor(v) - 0.5
        return smooth01((0.17 - wp.sqrt(du * du + dv * dv)) * 16.0 + 0.5)
    if kind == 3:
        row = wp.floor(p[2] / size)
        shift = 0.5 * (row - 2.0 * wp.floor(row * 0.5))
        u = p[0] / size + shift
        v = p[2] / size
        cell = wp.floor(u)
        du = u - cell - 0.5
        dv = v - wp.floor(v) - 0.5
        turn = cell * 2.4 + row * 1.3
        c = wp.cos(turn)
        s = wp.sin(turn)
        x = c * du + s * dv
        y = -s * du + c * dv
        return smooth01((0.07 - wp.abs(y) - 0.9 * x * x) * 30.0 + 0.5)
    return 0.0


@wp.struct
class Surface:
    hit: int
    t: float
    position: wp.vec3
    normal: wp.vec3
    geometric: wp.vec3
    plain: wp.vec3
    albedo: wp.vec3
    material: int


@wp.struct
class World:
    mesh: wp.uint64
    normals: wp.array(dtype=wp.vec3)
    texture: wp.array(dtype=wp.vec3)
    colour: wp.array(dtype=wp.vec3)
    colour2: wp.array(dtype=wp.vec3)
    face_material: wp.array(dtype=int)
    table: wp.array2d(dtype=float)
    key_position: wp.vec3
    key_radius: float
    key_colour: wp.vec3
    up: wp.vec3
    sky: wp.vec3
    ground: wp.vec3


@wp.func
def sky_light(world: World, d: wp.vec3):
    h = 0.5 + 0.5 * wp.dot(d, world.up)
    return world.ground * (1.0 - h) + world.sky * h


@wp.func
def surface_at(world: World, origin: wp.vec3, d: wp.vec3, detail: int):
    out = Surface()
    out.hit = 0
    query = wp.mesh_query_ray(world.mesh, origin, d, FAR)
    if query.result:
        f = query.face
        mesh = wp.mesh_get(world.mesh)
        i = mesh.indices[3 * f]
        j = mesh.indices[3 * f + 1]
        k = mesh.indices[3 * f + 2]
        u = query.u
        v = query.v
        w = 1.0 - u - v
        n = wp.normalize(world.normals[i] * u + world.normals[j] * v + world.normals[k] * w)
        g = wp.normalize(query.normal)
        if wp.dot(g, d) > 0.0:
            g = -g
            n = -n
        if wp.dot(n, d) > -0.02:
            n = wp.normalize(n - d * (wp.dot(n, d) + 0.02))
        p = world.texture[i] * u + world.texture[j] * v + world.texture[k] * w
        albedo = world.colour[i] * u + world.colour[j] * v + world.colour[k] * w
        out.plain = n
        m = world.face_material[f]
        kind = int(world.table[m, 0])
        pattern = int(world.table[m, 3])
        if pattern > 0:
            albedo2 = world.colour2[i] * u + world.colour2[j] * v + world.colour2[k] * w
            s = pattern_mix(p, pattern, world.table[m, 4])
            albedo = albedo * (1.0 - s) + albedo2 * s
        if detail > 0 and kind > 0:
            period = world.table[m, 1]
            relief = world.table[m, 2]
            seed = wp.uint32(17)
            e = period * 0.12
            h = fabric_height(p, kind, period, seed)
            hx = fabric_height(p + wp.vec3(e, 0.0, 0.0), kind, period, seed) - h
            hy = fabric_height(p + wp.vec3(0.0, e, 0.0), kind, period, seed) - h
            hz = fabric_height(p + wp.vec3(0.0, 0.0, e), kind, period, seed) - h
            grad = wp.vec3(hx, hy, hz) * (relief / 0.12)
            grad = grad - n * wp.dot(grad, n)
            n2 = wp.normalize(n - grad)
            if wp.dot(n2, d) < -0.02:
                n = n2
            albedo = albedo * (1.0 - 0.6 * relief + 1.2 * relief * h)
        blotch = world.table[m, 9]
        if blotch > 0.0:
            b = wp.noise(wp.uint32(5), p * 60.0) * 0.6 + wp.noise(wp.uint32(6), p * 240.0) * 0.4
            albedo = wp.cw_mul(albedo, wp.vec3(1.0 + blotch * b, 1.0 + 1.5 * blotch * b, 1.0 + 1.6 * blotch * b))
        out.hit = 1
        out.t = query.t
        out.position = origin + d * query.t
        out.normal = n
        out.geometric = g
        out.albedo = albedo
        out.material = m
    return out


@wp.func
def wrapped(c: float, w: float):
    return wp.max(0.0, (c + w) / ((1.0 + w) * (1.0 + w)))


@wp.func
def key_light(world: World, s: Surface, sample: wp.vec3):
    """Direct light of the disk on a surface, colour by colour, and the direction to the lit point."""
    to = sample - s.position
    dist = wp.length(to)
    ray = to / dist
    wrap = world.table[s.material, 5]
    c = wp.dot(s.normal, ray)
    if c <= -wrap:
        return wp.vec3(0.0, 0.0, 0.0)
    origin = s.position + s.geometric * 0.0004
    if wp.dot(s.geometric, ray) < 0.0:
        origin = s.position + ray * 0.012
    shadow = wp.mesh_query_ray(world.mesh, origin, ray, dist - 0.01)
    if shadow.result:
        return wp.vec3(0.0, 0.0, 0.0)
    fall = 1.0 / (dist * dist)
    return wp.cw_mul(
        world.key_colour * fall,
        wp.vec3(wrapped(c, wrap), wrapped(c, wrap * 0.5), wrapped(c, wrap * 0.35)),
    )


@wp.func
def disk_sample(world: World, state: wp.uint32):
    towards = wp.normalize(world.key_position)
    side = wp.normalize(wp.cross(towards, wp.vec3(0.31, 0.57, 0.76)))
    other = wp.cross(towards, side)
    r = world.key_radius * wp.sqrt(wp.randf(state))
    a = 6.2831853 * wp.randf(state)
    return world.key_position + side * (r * wp.cos(a)) + other * (r * wp.sin(a))


@wp.func
def hemisphere(n: wp.vec3, u1: float, u2: float):
    helper = wp.vec3(1.0, 0.0, 0.0)
    if wp.abs(n[0]) > 0.7:
        helper = wp.vec3(0.0, 1.0, 0.0)
    t = wp.normalize(wp.cross(n, helper))
    b = wp.cross(n, t)
    r = wp.sqrt(u1)
    a = 6.2831853 * u2
    return wp.normalize(t * (r * wp.cos(a)) + b * (r * wp.sin(a)) + n * wp.sqrt(wp.max(0.0, 1.0 - u1)))


@wp.kernel
def trace(
    world: World,
    eye: wp.vec3,
    right: wp.vec3,
    up: wp.vec3,
    forward: wp.vec3,
    tan_half: float,
    width: int,
    height: int,
    lens: float,
    focus: float,
    spp: int,
    seed: int,
    diffuse: wp.array(dtype=wp.vec3),
    gloss: wp.array(dtype=wp.vec3),
    albedo: wp.array(dtype=wp.vec3),
    normal: wp.array(dtype=wp.vec3),
    depth: wp.array(dtype=float),
):
    tid = wp.tid()
    px = tid % width
    py = tid // width
    sum_d = wp.vec3(0.0, 0.0, 0.0)
    sum_g = wp.vec3(0.0, 0.0, 0.0)
    sum_a = wp.vec3(0.0, 0.0, 0.0)
    sum_n = wp.vec3(0.0, 0.0, 0.0)
    sum_t = float(0.0)  # warp: a literal would be a constant that the loop cannot change
    aspect = float(height) / float(width)
    for i in range(spp):
        state = wp.rand_init(seed, tid * 4096 + i)
        x = (2.0 * (float(px) + wp.randf(state)) / float(width) - 1.0) * tan_half
        y = (1.0 - 2.0 * (float(py) + wp.randf(state)) / float(height)) * tan_half * aspect
        target = eye + (forward + right * x + up * y) * focus
        r = lens * wp.sqrt(wp.randf(state))
        a = 6.2831853 * wp.randf(state)
        origin = eye + right * (r * wp.cos(a)) + up * (r * wp.sin(a))
        d = wp.normalize(target - origin)
        s = surface_at(world, origin, d, 1)
        if s.hit == 0:
            sum_a += wp.vec3(1.0, 1.0, 1.0)
            sum_d += sky_light(world, d)
            sum_t += 10.0
        else:
            light_at = disk_sample(world, state)
            e = key_light(world, s, light_at)
            lit_now = e[1]
            nd = hemisphere(s.normal, (float(i) + wp.randf(state)) / float(spp), wp.randf(state))
            if wp.dot(nd, s.geometric) < 0.0:
                nd = nd - s.geometric * (2.0 * wp.dot(nd, s.geometric))
            b = surface_at(world, s.position + s.geometric * 0.0004, nd, 0)
            if b.hit == 0:
                e += sky_light(world, nd) * 3.14159
            else:
                second = key_light(world, b, disk_sample(world, state))
                second += sky_light(world, b.normal) * 1.1
                near = smooth01(b.t / 0.12)
                e += wp.cw_mul(b.albedo, second) * (0.55 + 0.45 * near)
            e = e / 3.14159
            # gloss: a broad lobe of the key light and a Fresnel share of the room
            strength = world.table[s.material, 6]
            power = world.table[s.material, 7]
            g = wp.vec3(0.0, 0.0, 0.0)
            if strength > 0.0:
                ray = wp.normalize(light_at - s.position)
                h = wp.normalize(ray - d)
                lobe = wp.pow(wp.max(0.0, wp.dot(s.normal, h)), power) * (power + 8.0) / 25.0
                c = wp.max(0.0, wp.dot(s.normal, -d))
                fresnel = strength + (1.0 - strength) * wp.pow(1.0 - c, 5.0) * 0.5
                if lit_now > 0.0 and wp.dot(s.normal, ray) > 0.0:
                    to = light_at - s.position
                    g += world.key_colour * (lobe * fresnel * wp.dot(s.normal, ray) / wp.dot(to, to))
                mirror = d - s.normal * (2.0 * wp.dot(d, s.normal))
                g += sky_light(world, mirror) * (fresnel * 0.5)
            sheen = world.table[s.material, 8]
            if sheen > 0.0:
                c = wp.max(0.0, wp.dot(s.normal, -d))
                e += e * (sheen * wp.pow(1.0 - c, 3.0))
            sum_d += e
            sum_g += wp.vec3(wp.min(g[0], 2.0), wp.min(g[1], 2.0), wp.min(g[2], 2.0))
            sum_a += s.albedo
            sum_n += s.plain
            sum_t += s.t
    share = 1.0 / float(spp)
    diffuse[tid] = sum_d * share
    gloss[tid] = sum_g * share
    albedo[tid] = sum_a * share
    normal[tid] = sum_n * share
    depth[tid] = sum_t * share


@wp.kernel
def cast(
    mesh: wp.uint64,
    origins: wp.array(dtype=wp.vec3),
    directions: wp.array(dtype=wp.vec3),
    t: wp.array(dtype=float),
    face: wp.array(dtype=int),
):
    i = wp.tid()
    query = wp.mesh_query_ray(mesh, origins[i], directions[i], FAR)
    t[i] = wp.inf
    face[i] = -1
    if query.result:
        t[i] = query.t
        face[i] = query.face


def as_warp_mesh(vertices: np.ndarray, faces: np.ndarray) -> wp.Mesh:
    """A mesh that rays can be cast at."""
    return wp.Mesh(
        points=wp.array(vertices.astype(np.float32), dtype=wp.vec3, device="cpu"),
        indices=wp.array(faces.astype(np.int32).ravel(), dtype=int, device="cpu"),
    )


def cast_rays(mesh: wp.Mesh, origins: np.ndarray, directions: np.ndarray) -> tuple[np.ndarray, np.ndarray]:
    """Distance to the first hit (infinite where there is none) and the face hit (-1), for arrays of shape (n, 3)."""
    n = len(origins)
    t = wp.zeros(n, dtype=float, device="cpu")
    face = wp.zeros(n, dtype=int, device="cpu")
    o = wp.array(origins.astype(np.float32), dtype=wp.vec3, device="cpu")
    d = wp.array(directions.astype(np.float32), dtype=wp.vec3, device="cpu")
    wp.launch(cast, dim=n, inputs=[mesh.id, o, d, t, face], device="cpu")
    return t.numpy(), face.numpy()
