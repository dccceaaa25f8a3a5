// One source for two machines: nvcc makes the GPU library, g++ -fopenmp the CPU library. The same scene gives the same
// picture on both, up to rounding. Distance-function solids are traced, one thread a pixel; a triangle mesh may stand in
// the same scene through a z-buffer; the breast model is a height field that gives way to what presses into it.
// Lengths: 1 = the doll's face size. Layouts of all arrays: renderer.py.
#include <math.h>
#include <stddef.h>
#include <stdint.h>
#include <string.h>

#ifdef __CUDACC__
#define HD __host__ __device__ __forceinline__
#else
#define HD inline
#endif

namespace {

constexpr int CAM = 20, LIGHT = 20, GROUP = 20, PRIM = 16, MAT = 12, BREAST = 32;
constexpr int GROUPS = 7, MATS = 24;
constexpr int BREAST_HIT = 9;
constexpr int M_BREAST = 20, M_AREOLA = 21, M_DRESS = 22, M_CAVITY = 2;
constexpr float FAR = 90.0f;

struct V { float x, y, z; };
HD V v3(const float* p) { return {p[0], p[1], p[2]}; }
HD V operator+(V a, V b) { return {a.x + b.x, a.y + b.y, a.z + b.z}; }
HD V operator-(V a, V b) { return {a.x - b.x, a.y - b.y, a.z - b.z}; }
HD V operator*(V a, float s) { return {a.x * s, a.y * s, a.z * s}; }
HD V operator*(V a, V b) { return {a.x * b.x, a.y * b.y, a.z * b.z}; }
HD float dot(V a, V b) { return a.x * b.x + a.y * b.y + a.z * b.z; }
HD float len(V a) { return sqrtf(dot(a, a)); }
HD V unit(V a) { return a * (1.0f / fmaxf(len(a), 1e-12f)); }
HD float clampf(float x, float a, float b) { return fminf(fmaxf(x, a), b); }
HD V mix(V a, V b, float t) { return a * (1 - t) + b * t; }

HD float hash3(int x, int y, int z) {
  uint32_t h = (uint32_t)x * 374761393u + (uint32_t)y * 668265263u + (uint32_t)z * 2246822519u;
  h = (h ^ (h >> 15)) * 2246822519u;
  h = (h ^ (h >> 13)) * 3266489917u;
  return (float)((h ^ (h >> 16)) & 0xffffffu) / 16777216.0f;
}
HD float noise(V p) {
  float fx = floorf(p.x), fy = floorf(p.y), fz = floorf(p.z);
  int x = (int)fx, y = (int)fy, z = (int)fz;
  float u = p.x - fx, v = p.y - fy, w = p.z - fz;
  u = u * u * (3 - 2 * u); v = v * v * (3 - 2 * v); w = w * w * (3 - 2 * w);
  float r = 0;
  for (int i = 0; i < 8; i++) {
    int a = i & 1, b = (i >> 1) & 1, c = i >> 2;
    r += hash3(x + a, y + b, z + c) * (a ? u : 1 - u) * (b ? v : 1 - v) * (c ? w : 1 - w);
  }
  return r;
}

struct Scene {
  const float *cam, *light, *groups, *prims, *mats, *breast, *give;
  const int* range;  // first and last + 1 of each group's solids in `prims`
  int n_prims, give_n;
};

HD float ellipsoid(V p, V r) {
  float k0 = len({p.x / r.x, p.y / r.y, p.z / r.z});
  float k1 = len({p.x / (r.x * r.x), p.y / (r.y * r.y), p.z / (r.z * r.z)});
  return k1 < 1e-6f ? -fminf(r.x, fminf(r.y, r.z)) : k0 * (k0 - 1) / k1;
}
HD float round_cone(V p, V a, V b, float ra, float rb) {
  V pa = p - a, ba = b - a;
  float l = dot(ba, ba), h = l > 1e-9f ? clampf(dot(pa, ba) / l, 0, 1) : 0;
  return len(pa - ba * h) - (ra + (rb - ra) * h);
}
HD V turned(V p, float c, float s) { return {c * p.x + s * p.y, -s * p.x + c * p.y, p.z}; }

HD float prim_distance(const float* q, V p) {
  int kind = (int)q[0];
  V a = v3(q + 5), b = v3(q + 8);
  if (kind == 1) return round_cone(p, a, b, q[11], q[12]);
  V l = turned(p - a, q[14], q[15]);
  if (kind == 0) return ellipsoid(l, b);
  if (kind == 2) {
    V d = {fabsf(l.x) - b.x + q[11], fabsf(l.y) - b.y + q[11], fabsf(l.z) - b.z + q[11]};
    V o = {fmaxf(d.x, 0), fmaxf(d.y, 0), fmaxf(d.z, 0)};
    return len(o) + fminf(fmaxf(d.x, fmaxf(d.y, d.z)), 0) - q[11];
  }
  // kind 3: a ring round the x axis, b = (bend, radius along y, radius along z)
  float r = len({0, l.y / b.y, l.z / b.z});
  float e = (r - 1) * fminf(b.y, b.z), f = l.x - b.x * (1 - r * r);
  return sqrtf(e * e + f * f) - q[11];
}

HD V to_group(const float* g, V p) {
  V l = {g[0] * p.x + g[1] * p.y + g[2] * p.z + g[9], g[3] * p.x + g[4] * p.y + g[5] * p.z + g[10],
         g[6] * p.x + g[7] * p.y + g[8] * p.z + g[11]};
  if (g[12] > 0.5f) l.z = fabsf(l.z);
  return l;
}

// Distance to one group; `carved` says whether the nearest surface is the inside of a hollow.
HD float group_distance(const Scene& s, int g, V l, bool* carved) {
  float d = FAR;
  bool in = false;
  for (int i = s.range[2 * g]; i < s.range[2 * g + 1]; i++) {
    const float* q = s.prims + i * PRIM;
    if (q[0] < 0) continue;
    float e = prim_distance(q, l), k = q[3];
    if (q[4] > 0.5f) {
      if (-e > d) in = true;
      float h = fmaxf(k - fabsf(-e - d), 0) / k;
      d = fmaxf(-e, d) + h * h * k * 0.25f;
    } else {
      float h = fmaxf(k - fabsf(e - d), 0) / k;
      if (e < d) in = false;
      d = fminf(e, d) - h * h * k * 0.25f;
    }
  }
  if (carved) *carved = in;
  return d;
}

HD float breast_height(const Scene& s, float u, float w, float* areola_r) {
  const float* b = s.breast;
  float du = u - b[14], dw = w - b[15], r = sqrtf(du * du + dw * dw);
  float x = clampf(r / b[16], 0, 1);
  float dome = b[17] * powf(fmaxf(1 - powf(x, b[28]), 0.0f), b[29]);
  float k = clampf((r - 0.3f) / 0.8f, 0, 1);
  float h = b[13] - b[17] + dome - k * (0.5f * du * du / b[25] + 0.5f * dw * dw / b[26]);
  float ra = sqrtf((u - b[19]) * (u - b[19]) + (w - b[20]) * (w - b[20]));
  *areola_r = ra;
  if (b[23] > 0) {
    float e = ra / b[24];
    h += b[23] * expf(-e * e * e * e);
  } else {
    float e = ra / (b[22] * 1.35f);
    h += b[21] * sqrtf(fmaxf(1 - e * e * e * e, 0.0f));
  }
  h += 0.02f / (1 + expf(clampf((ra - b[18]) / 0.016f, -30, 30)));
  float gh = b[27];
  if (fabsf(u) < gh && fabsf(w) < gh && s.give) {
    float fu = (u + gh) / (2 * gh) * s.give_n - 0.5f, fw = (w + gh) / (2 * gh) * s.give_n - 0.5f;
    fu = clampf(fu, 0, s.give_n - 1.001f); fw = clampf(fw, 0, s.give_n - 1.001f);
    int i = (int)fu, j = (int)fw;
    float a = fu - i, c = fw - j;
    const float* m = s.give + i * s.give_n + j;
    h -= (m[0] * (1 - c) + m[1] * c) * (1 - a) + (m[s.give_n] * (1 - c) + m[s.give_n + 1] * c) * a;
  }
  return h;
}
HD V breast_frame(const Scene& s, V p) {
  const float* b = s.breast;
  V r = p - v3(b + 1);
  return {dot(r, v3(b + 4)), dot(r, v3(b + 7)), dot(r, v3(b + 10))};
}
HD float breast_distance(const Scene& s, V p) {
  if (s.breast[0] < 0.5f) return FAR;
  V f = breast_frame(s, p);
  float side = fmaxf(fabsf(f.x), fabsf(f.y)) - s.breast[30];
  float over = f.z - fmaxf(s.breast[13] + 0.6f, 0.4f);
  if (over > 0.3f || side > 0.3f) return fmaxf(fmaxf(over, side), 0.2f);
  float ra, d = (f.z - breast_height(s, f.x, f.y, &ra)) * 0.5f;
  d = fmaxf(d, -(f.z + 6.0f));
  return fmaxf(d, side);
}

// Distance to the scene; `what` is the group, or BREAST_HIT.
HD float scene_distance(const Scene& s, V p, int* what, bool* carved) {
  float d = breast_distance(s, p);
  *what = BREAST_HIT;
  *carved = false;
  for (int g = 0; g < GROUPS; g++) {
    const float* q = s.groups + g * GROUP;
    if (q[16] <= 0 || s.range[2 * g] == s.range[2 * g + 1]) continue;
    V l = to_group(q, p);
    float far_off = len(l - v3(q + 13)) - q[16];
    if (far_off > d) continue;
    if (far_off > 0.35f) { d = fminf(d, far_off); *what = g; continue; }
    bool c;
    float e = group_distance(s, g, l, &c);
    if (e < d) { d = e; *what = g; *carved = c; }
  }
  return d;
}

HD float march(const Scene& s, V o, V d, float t, float t_max, float pixel, int steps, int* what, bool* carved) {
  for (int i = 0; i < steps; i++) {
    float e = scene_distance(s, o + d * t, what, carved);
    if (e < fmaxf(0.0008f, 0.4f * pixel * t)) return t;
    t += e * 0.92f;
    if (t > t_max) return FAR;
  }
  return t;
}

HD void camera_ray(const float* c, float px, float py, V* o, V* d) {
  float x = (px - c[13]) / c[12], y = -(py - c[14]) / c[12];
  V r = v3(c + 3), u = v3(c + 6), f = v3(c + 9), eye = v3(c);
  if (c[15] > 0.5f) { *o = eye + r * x + u * y; *d = f; }
  else { *o = eye; *d = unit(r * x + u * y + f); }
}
HD bool project(const float* c, V p, float* px, float* py, float* z) {
  V r = p - v3(c);
  *z = dot(r, v3(c + 9));
  float k = c[15] > 0.5f ? 1.0f : *z;
  if (k < 1e-3f) return false;
  *px = c[13] + c[12] * dot(r, v3(c + 3)) / k;
  *py = c[14] - c[12] * dot(r, v3(c + 6)) / k;
  return true;
}

HD V pattern(const float* m, V p) {
  V a = v3(m), b = v3(m + 7);
  int kind = (int)m[5];
  float k = m[6], t = 0;
  if (kind == 1) t = sinf(p.y * k) > 0.3f ? 1 : 0;
  if (kind == 2) {
    float x = p.x * k, y = p.y * k, z = p.z * k;
    x -= floorf(x) + 0.5f; y -= floorf(y) + 0.5f; z -= floorf(z) + 0.5f;
    t = x * x + y * y + z * z < 0.09f ? 1 : 0;
  }
  if (kind == 3) t = clampf((noise(p * k) - 0.45f) * 5, 0, 1);
  if (kind == 4) t = sinf(p.x * k) * sinf(p.y * k) > 0 ? 0.8f : 0;
  if (kind == 5) t = 0.5f + 0.5f * sinf(k * (p.x + 0.6f * p.y + 0.4f * p.z));
  V c = mix(a, b, t);
  float n = m[10] * (noise(p * 9) + 0.5f * noise(p * 31) + 0.5f * noise(p * 83) - 1.0f);
  return c * (1 + n);
}

struct Mesh { const float *verts, *normals, *colours, *neutral; const int* faces; int n_verts, n_faces; };

HD float edge(float ax, float ay, float bx, float by, float cx, float cy) {
  return (bx - ax) * (cy - ay) - (by - ay) * (cx - ax);
}
// Weights of a pixel in a triangle that stands in the picture; depth is exact for both kinds of camera.
HD bool triangle_at(const float* c, V a, V b, V e, float px, float py, float* w0, float* w1, float* w2, float* z) {
  float ax, ay, az, bx, by, bz, ex, ey, ez;
  if (!project(c, a, &ax, &ay, &az) || !project(c, b, &bx, &by, &bz) || !project(c, e, &ex, &ey, &ez)) return false;
  float area = edge(ax, ay, bx, by, ex, ey);
  if (fabsf(area) < 1e-9f) return false;
  float k0 = edge(bx, by, ex, ey, px, py) / area, k1 = edge(ex, ey, ax, ay, px, py) / area, k2 = 1 - k0 - k1;
  const float low = -1e-4f;
  bool hit = k0 >= low && k1 >= low && k2 >= low;
  if (c[15] < 0.5f) {
    k0 /= az; k1 /= bz; k2 /= ez;
    float sum = k0 + k1 + k2;
    if (fabsf(sum) < 1e-12f) return false;
    k0 /= sum; k1 /= sum; k2 /= sum;
  }
  *w0 = k0; *w1 = k1; *w2 = k2;
  *z = az * k0 + bz * k1 + ez * k2;
  return hit;
}

HD void raster_triangle(const float* cam, const Mesh& m, int n, int f, int w, int h, unsigned long long* zbuf) {
  const int* id = m.faces + f * 3;
  const float* base = m.verts + (size_t)n * m.n_verts * 3;
  V a = v3(base + id[0] * 3), b = v3(base + id[1] * 3), e = v3(base + id[2] * 3);
  float x[3], y[3], z[3];
  if (!project(cam, a, x, y, z) || !project(cam, b, x + 1, y + 1, z + 1) || !project(cam, e, x + 2, y + 2, z + 2)) return;
  int x0 = (int)floorf(fmaxf(fminf(x[0], fminf(x[1], x[2])) - 0.5f, 0));
  int x1 = (int)ceilf(fminf(fmaxf(x[0], fmaxf(x[1], x[2])) - 0.5f, (float)(w - 1)));
  int y0 = (int)floorf(fmaxf(fminf(y[0], fminf(y[1], y[2])) - 0.5f, 0));
  int y1 = (int)ceilf(fminf(fmaxf(y[0], fmaxf(y[1], y[2])) - 0.5f, (float)(h - 1)));
  for (int j = y0; j <= y1; j++)
    for (int i = x0; i <= x1; i++) {
      float k0, k1, k2, depth;
      if (!triangle_at(cam, a, b, e, i + 0.5f, j + 0.5f, &k0, &k1, &k2, &depth) || depth < 0.05f) continue;
#ifdef __CUDA_ARCH__
      unsigned long long key = ((unsigned long long)__float_as_uint(depth) << 32) | (unsigned)f;
      atomicMin(zbuf + ((size_t)n * h + j) * w + i, key);
#else
      union { float f; uint32_t u; } bits; bits.f = depth;
      unsigned long long key = ((unsigned long long)bits.u << 32) | (unsigned)f;
      unsigned long long* at = zbuf + ((size_t)n * h + j) * w + i;
      if (key < *at) *at = key;
#endif
    }
}
HD float key_depth(unsigned long long key) {
  if (key == 0xffffffffffffffffull) return FAR;
  union { float f; uint32_t u; } bits;
  bits.u = (uint32_t)(key >> 32);
  return bits.f;
}

struct Inputs {
  const float *cam, *light, *groups, *prims, *mats, *breast, *give, *light_cam;
  int n_prims, give_n, with_breast;
  Mesh mesh;
  const unsigned long long *zbuf, *shadow;
  int shadow_n, n, w, h;
};

HD void all_ranges(const Inputs& in, int n, int* range) {
  const float* g = in.groups + n * GROUPS * GROUP;
  for (int i = 0; i < GROUPS; i++) { range[2 * i] = (int)g[i * GROUP + 17]; range[2 * i + 1] = (int)g[i * GROUP + 18]; }
}

HD Scene scene_of(const Inputs& in, int n, const int* range) {
  Scene s;
  s.range = range;
  s.cam = in.cam + n * CAM; s.light = in.light + n * LIGHT; s.groups = in.groups + n * GROUPS * GROUP;
  s.prims = in.prims + (size_t)n * in.n_prims * PRIM; s.mats = in.mats + n * MATS * MAT;
  s.breast = in.breast + n * BREAST; s.n_prims = in.n_prims;
  s.give = in.give ? in.give + (size_t)n * in.give_n * in.give_n : nullptr; s.give_n = in.give_n;
  return s;
}

HD float mesh_depth(const Inputs& in, int n, int x, int y) {
  return in.zbuf ? key_depth(in.zbuf[((size_t)n * in.h + y) * in.w + x]) : FAR;
}

HD float light_share(const Inputs& in, const Scene& s, int n, V p, V normal) {
  V l = v3(s.light);
  float k = 1, t = 0.03f + 0.05f * hash3((int)(p.x * 3000), (int)(p.y * 3000), (int)(p.z * 3000));
  V o = p + normal * 0.02f;
  for (int i = 0; i < 22 && t < 6; i++) {
    int what; bool c;
    float d = scene_distance(s, o + l * t, &what, &c);
    k = fminf(k, s.light[14] * d / t);
    if (k < 0.01f) { k = 0; break; }
    t += clampf(d, 0.03f, 0.6f);
  }
  if (in.shadow) {
    const float* c = in.light_cam + n * CAM;
    float x, y, z;
    project(c, p + normal * 0.01f, &x, &y, &z);
    float lit = 0;
    for (int j = -1; j <= 1; j++)
      for (int i = -1; i <= 1; i++) {
        int a = (int)floorf(x + i * 0.8f), b = (int)floorf(y + j * 0.8f);
        bool in_map = a >= 0 && b >= 0 && a < in.shadow_n && b < in.shadow_n;
        float depth = in_map ? key_depth(in.shadow[((size_t)n * in.shadow_n + b) * in.shadow_n + a]) : FAR;
        lit += z < depth + 0.05f;
      }
    k = fminf(k, lit / 9);
  }
  return clampf(k, 0, 1);
}

HD V shaded(const Inputs& in, const Scene& s, int n, V p, V normal, V eye_dir, V albedo, float spec, float gloss) {
  float k = light_share(in, s, n, p, normal);
  float occ = 0, scale = 1;
  for (int i = 1; i <= 3; i++) {
    int what; bool c;
    float at = 0.06f * i * i;
    occ += fmaxf(at - scene_distance(s, p + normal * at, &what, &c), 0) / at * scale;
    scale *= 0.6f;
  }
  float ao = clampf(1 - s.light[12] * occ, 0.12f, 1);
  V l = v3(s.light);
  float wrap = 0.2f, nl = clampf((dot(normal, l) + wrap) / (1 + wrap), 0, 1) * (s.light[13] * k + 1 - s.light[13]);
  float up = 0.5f + 0.5f * dot(normal, v3(s.light + 15));
  V ambient = mix(v3(s.light + 9), v3(s.light + 6), up) * ao;
  V half_way = unit(l - eye_dir);
  float shine = spec * powf(fmaxf(dot(normal, half_way), 0), gloss) * k;
  float rim = spec * 0.25f * powf(1 - fmaxf(-dot(normal, eye_dir), 0), 4) * ao;
  return albedo * (v3(s.light + 3) * nl + ambient) + v3(s.light + 3) * shine + ambient * rim;
}

HD V solid_colour(const Scene& s, int what, bool carved, V p, float* spec, float* gloss) {
  if (what == BREAST_HIT) {
    V f = breast_frame(s, p);
    float ra;
    breast_height(s, f.x, f.y, &ra);
    float r = sqrtf((f.x - s.breast[14]) * (f.x - s.breast[14]) + (f.y - s.breast[15]) * (f.y - s.breast[15]));
    const float* m = s.mats + (r > s.breast[16] * s.breast[31] ? M_DRESS : M_BREAST) * MAT;
    *spec = m[3]; *gloss = m[4];
    V c = pattern(m, f);
    float angle = atan2f(f.y - s.breast[20], f.x - s.breast[19]);
    float rim = s.breast[18] * (1 + 0.02f * sinf(3 * angle + 1) + 0.015f * sinf(7 * angle));
    float share = 1 / (1 + expf(clampf((ra - rim) / 0.012f, -30, 30)));
    if (r <= s.breast[16] * s.breast[31]) c = mix(c, pattern(s.mats + M_AREOLA * MAT, f), share);
    return c;
  }
  V l = to_group(s.groups + what * GROUP, p);
  if (carved) { const float* m = s.mats + M_CAVITY * MAT; *spec = m[3]; *gloss = m[4]; return pattern(m, l); }
  V c = {0, 0, 0};
  float total = 0, sp = 0, gl = 0;
  for (int i = s.range[2 * what]; i < s.range[2 * what + 1]; i++) {
    const float* q = s.prims + i * PRIM;
    if (q[0] < 0 || q[4] > 0.5f) continue;
    float w = expf(-fmaxf(prim_distance(q, l), 0) / fmaxf(q[13], 1e-3f));
    if (w < 1e-3f) continue;
    const float* m = s.mats + (int)q[2] * MAT;
    c = c + pattern(m, l) * w; sp += m[3] * w; gl += m[4] * w; total += w;
  }
  if (total < 1e-6f) return {0.5f, 0.4f, 0.35f};
  *spec = sp / total; *gloss = gl / total;
  return c * (1 / total);
}

// Where a tile of pixels may meet solids: a cone or beam along its rays, then a widening capsule towards the light.
struct Reach { V from, along; float slope, wide, start; };

// Whether a solid can matter inside a reach: its ball, with what its blends may add.
HD bool reaches(const Inputs& in, int n, const float* q, const Reach& r) {
  if (q[0] < 0) return false;
  const float* g = in.groups + n * GROUPS * GROUP + (int)q[1] * GROUP;
  if (g[16] <= 0) return false;
  V a = v3(q + 5), b = v3(q + 8), centre = a;
  float ball;
  if ((int)q[0] == 1) { centre = (a + b) * 0.5f; ball = len(b - a) * 0.5f + fmaxf(q[11], q[12]); }
  else if ((int)q[0] == 0) ball = fmaxf(b.x, fmaxf(b.y, b.z));
  else if ((int)q[0] == 2) ball = len(b);
  else ball = fabsf(b.x) + fmaxf(b.y, b.z) + q[11];
  ball += 1.5f * q[3] + 0.03f;
  for (int side = 0; side < (g[12] > 0.5f ? 2 : 1); side++) {
    V l = centre - v3(g + 9);
    if (side) l.z = -centre.z - g[11];
    V w = {g[0] * l.x + g[3] * l.y + g[6] * l.z, g[1] * l.x + g[4] * l.y + g[7] * l.z, g[2] * l.x + g[5] * l.y + g[8] * l.z};
    V rel = w - r.from;
    float t = dot(rel, r.along), across = sqrtf(fmaxf(dot(rel, rel) - t * t, 0));
    float before = r.start - t;  // a capsule begins with half a ball
    if (r.start > -FAR && before > 0) across = sqrtf(across * across + before * before);
    if (across <= r.wide + fmaxf(t, 0) * r.slope + ball * sqrtf(1 + r.slope * r.slope)) return true;
  }
  return false;
}

// The cone (or beam) of the rays through a square of pixels.
HD Reach view_reach(const float* cam, int x0, int y0, int side) {
  V o, d, co, cd;
  camera_ray(cam, x0 + 0.5f * side, y0 + 0.5f * side, &o, &d);
  Reach r = {o, d, 0, 0, -2 * FAR};
  for (int i = 0; i < 4; i++) {
    camera_ray(cam, x0 + (i & 1) * side, y0 + (i >> 1) * side, &co, &cd);
    if (cam[15] > 0.5f) r.wide = fmaxf(r.wide, len(co - o));
    else {
      float c = dot(cd, d);
      r.slope = fmaxf(r.slope, sqrtf(fmaxf(1 - c * c, 0)) / fmaxf(c, 0.1f));
    }
  }
  r.slope *= 1.01f; r.wide *= 1.01f;
  return r;
}

// From the places hit in a tile (their box) towards the light; occlusion and colours look 0.6 around.
HD Reach light_reach(const float* light, V low, V high) {
  Reach r = {(low + high) * 0.5f, v3(light), 1 / light[14], len(high - low) * 0.5f + 0.6f, 0};
  return r;
}

struct Hit { float t, tm; int what; bool carved; };

HD Hit look_along(const Inputs& in, const Scene& s, int n, int x, int y, V* o, V* d) {
  camera_ray(s.cam, x + 0.5f, y + 0.5f, o, d);
  Hit hit;
  float zm = mesh_depth(in, n, x, y);
  hit.tm = zm >= FAR ? FAR : zm / dot(*d, v3(s.cam + 9));
  float pix = s.cam[15] > 0.5f ? 0.001f : 1 / s.cam[12];
  hit.t = march(s, *o, *d, s.cam[16], fminf(hit.tm, FAR - 1), pix, 72, &hit.what, &hit.carved);
  return hit;
}

// rgba: linear light, alpha 0 where nothing stands.
HD void coloured(const Inputs& in, const Scene& s, int n, int x, int y, V o, V d, const Hit& hit, float* rgba) {
  float t = hit.t, tm = hit.tm, best = fminf(t, tm);
  if (best >= FAR) { rgba[0] = rgba[1] = rgba[2] = rgba[3] = 0; return; }
  V p = o + d * best, normal, albedo;
  float spec = 0, gloss = 20;
  if (t < tm) {
    float e = fmaxf(0.002f, 0.5f * (s.cam[15] > 0.5f ? 0.001f : 1 / s.cam[12]) * t);
    normal = {0, 0, 0};
    for (int i = 0; i < 4; i++) {
      V k = {i == 0 || i == 1 ? 1.f : -1.f, i == 0 || i == 2 ? 1.f : -1.f, i == 0 || i == 3 ? 1.f : -1.f};
      int a; bool b;
      normal = normal + k * scene_distance(s, p + k * e, &a, &b);
    }
    normal = unit(normal);
    albedo = solid_colour(s, hit.what, hit.carved, p, &spec, &gloss);
  } else {
    int f = (int)(in.zbuf[((size_t)n * in.h + y) * in.w + x] & 0xffffffffull);
    const int* id = in.mesh.faces + f * 3;
    const float* vb = in.mesh.verts + (size_t)n * in.mesh.n_verts * 3;
    const float* nb = in.mesh.normals + (size_t)n * in.mesh.n_verts * 3;
    const float* cb = in.mesh.colours + (size_t)n * in.mesh.n_verts * 4;
    float w[3], z;
    triangle_at(s.cam, v3(vb + id[0] * 3), v3(vb + id[1] * 3), v3(vb + id[2] * 3), x + 0.5f, y + 0.5f, w, w + 1, w + 2, &z);
    V nn = {0, 0, 0}, c = {0, 0, 0}, q = {0, 0, 0};
    for (int i = 0; i < 3; i++) {
      nn = nn + v3(nb + id[i] * 3) * w[i];
      c = c + v3(cb + id[i] * 4) * w[i];
      q = q + v3(in.mesh.neutral + id[i] * 3) * w[i];
    }
    normal = unit(nn);
    if (dot(normal, d) > 0) normal = normal * -1;
    const float* m = s.mats + (int)(cb[id[0] * 4 + 3] + 0.5f) * MAT;
    spec = m[3]; gloss = m[4];
    float ref = fmaxf((m[0] + m[1] + m[2]) / 3, 0.02f);
    V tex = pattern(m, q);
    albedo = c * (V{tex.x / fmaxf(m[0], 0.3f * ref), tex.y / fmaxf(m[1], 0.3f * ref), tex.z / fmaxf(m[2], 0.3f * ref)});
  }
  V c = shaded(in, s, n, p, normal, d, albedo, spec, gloss);
  rgba[0] = c.x; rgba[1] = c.y; rgba[2] = c.z; rgba[3] = 1;
}

constexpr int TILE = 16, MOST = 192;

// How far in front of a point the view is stopped; 0 or less: seen. Mesh depth is read from the z-buffer around it.
HD float probe(const Inputs& in, int n, V p) {
  int range[2 * GROUPS];
  all_ranges(in, n, range);
  Scene s = scene_of(in, n, range);
  V eye = v3(s.cam), d = unit(p - eye);
  float far_off = len(p - eye), along = dot(d, v3(s.cam + 9)), best = FAR;
  int what; bool carved;
  float t = march(s, eye, d, s.cam[16], far_off, 1 / s.cam[12] * 0.3f, 110, &what, &carved);
  if (t < FAR) best = t;
  float x, y, z;
  if (in.zbuf && project(s.cam, p, &x, &y, &z)) {
    int i0 = (int)floorf(x), j0 = (int)floorf(y);
    float furthest = -1;
    for (int j = j0 - 1; j <= j0 + 1; j++)
      for (int i = i0 - 1; i <= i0 + 1; i++)
        if (i >= 0 && j >= 0 && i < in.w && j < in.h) furthest = fmaxf(furthest, mesh_depth(in, n, i, j));
    if (furthest > 0 && furthest < FAR) best = fminf(best, furthest / along);
  }
  return best >= FAR ? -1 : far_off - best;
}

#ifndef __CUDACC__
void gather(const Inputs& in, int n, const Reach& r, float* prims, int* range) {
  const float* from = in.prims + (size_t)n * in.n_prims * PRIM;
  int k = 0, whole[2 * GROUPS];
  all_ranges(in, n, whole);
  for (int g = 0; g < GROUPS; g++) {
    range[2 * g] = k;
    for (int i = whole[2 * g]; i < whole[2 * g + 1]; i++)
      if (reaches(in, n, from + i * PRIM, r)) memcpy(prims + k++ * PRIM, from + i * PRIM, PRIM * sizeof(float));
    range[2 * g + 1] = k;
  }
}
void draw_tile(const Inputs& in, int n, int x0, int y0, float* rgba, float* depth) {
  float none[BREAST] = {0}, prims[MOST * PRIM];
  int range[2 * GROUPS];
  Scene s = scene_of(in, n, range);
  if (!in.with_breast) s.breast = none;
  s.prims = prims;
  gather(in, n, view_reach(s.cam, x0, y0, TILE), prims, range);
  V o[TILE * TILE], d[TILE * TILE], low = {1e9f, 1e9f, 1e9f}, high = {-1e9f, -1e9f, -1e9f};
  Hit hit[TILE * TILE];
  for (int i = 0; i < TILE * TILE; i++) {
    int x = x0 + i % TILE, y = y0 + i / TILE;
    if (x >= in.w || y >= in.h) continue;
    hit[i] = look_along(in, s, n, x, y, o + i, d + i);
    float best = fminf(hit[i].t, hit[i].tm);
    if (depth) depth[((size_t)n * in.h + y) * in.w + x] = best >= FAR ? FAR : best * dot(d[i], v3(s.cam + 9));
    if (best >= FAR) continue;
    V p = o[i] + d[i] * best;
    low = {fminf(low.x, p.x), fminf(low.y, p.y), fminf(low.z, p.z)};
    high = {fmaxf(high.x, p.x), fmaxf(high.y, p.y), fmaxf(high.z, p.z)};
  }
  if (!rgba) return;
  if (low.x < 1e8f) gather(in, n, light_reach(s.light, low, high), prims, range);
  for (int i = 0; i < TILE * TILE; i++) {
    int x = x0 + i % TILE, y = y0 + i / TILE;
    if (x < in.w && y < in.h) coloured(in, s, n, x, y, o[i], d[i], hit[i], rgba + (((size_t)n * in.h + y) * in.w + x) * 4);
  }
}
#endif

}  // namespace

#ifdef __CUDACC__
__global__ void k_raster(Inputs in, const float* cam, unsigned long long* zbuf, int w, int h) {
  size_t i = (size_t)blockIdx.x * blockDim.x + threadIdx.x;
  if (i >= (size_t)in.n * in.mesh.n_faces) return;
  int n = i / in.mesh.n_faces;
  raster_triangle(cam + n * CAM, in.mesh, n, i % in.mesh.n_faces, w, h, zbuf);
}
struct Shared { float prims[MOST * PRIM]; int range[2 * GROUPS]; unsigned char keep[MOST]; float low[3], high[3]; };

// Copies the solids that a reach can meet, in their order; all threads of the block take part.
__device__ void gather(const Inputs& in, int n, const Reach& r, Shared& sh, int thread, int threads) {
  const float* prims = in.prims + (size_t)n * in.n_prims * PRIM;
  __syncthreads();
  for (int i = thread; i < in.n_prims; i += threads) sh.keep[i] = reaches(in, n, prims + i * PRIM, r);
  __syncthreads();
  if (thread == 0) {
    int k = 0, whole[2 * GROUPS];
    all_ranges(in, n, whole);
    for (int g = 0; g < GROUPS; g++) {
      sh.range[2 * g] = k;
      for (int i = whole[2 * g]; i < whole[2 * g + 1]; i++) if (sh.keep[i]) sh.keep[k++] = (unsigned char)i;
      sh.range[2 * g + 1] = k;
    }
  }
  __syncthreads();
  int count = sh.range[2 * GROUPS - 1] * PRIM;
  for (int i = thread; i < count; i += threads) sh.prims[i] = prims[sh.keep[i / PRIM] * PRIM + i % PRIM];
  __syncthreads();
}
__device__ void lower(float* at, float v) {
  for (int old = __float_as_int(*at); v < __int_as_float(old);) {
    int seen = atomicCAS((int*)at, old, __float_as_int(v));
    if (seen == old) break;
    old = seen;
  }
}
__global__ void k_pixel(Inputs in, float* rgba, float* depth) {
  __shared__ Shared sh;
  int x0 = blockIdx.x * TILE, y0 = blockIdx.y * TILE, n = blockIdx.z, thread = threadIdx.y * TILE + threadIdx.x;
  int x = x0 + threadIdx.x, y = y0 + threadIdx.y;
  bool in_picture = x < in.w && y < in.h;
  float none[BREAST] = {0};
  Scene s = scene_of(in, n, sh.range);
  if (!in.with_breast) s.breast = none;
  s.prims = sh.prims;
  gather(in, n, view_reach(s.cam, x0, y0, TILE), sh, thread, TILE * TILE);
  V o, d;
  Hit hit = {FAR, FAR, 0, false};
  if (in_picture) hit = look_along(in, s, n, x, y, &o, &d);
  size_t at = ((size_t)n * in.h + y) * in.w + x;
  float best = fminf(hit.t, hit.tm);
  if (depth && in_picture) depth[at] = best >= FAR ? FAR : best * dot(d, v3(s.cam + 9));
  if (!rgba) return;
  if (thread < 3) { sh.low[thread] = 1e9f; sh.high[thread] = 1e9f; }
  __syncthreads();
  if (best < FAR) {
    V p = o + d * best;
    lower(sh.low, p.x); lower(sh.low + 1, p.y); lower(sh.low + 2, p.z);
    lower(sh.high, -p.x); lower(sh.high + 1, -p.y); lower(sh.high + 2, -p.z);
  }
  __syncthreads();
  if (sh.low[0] < 1e8f) gather(in, n, light_reach(s.light, v3(sh.low), v3(sh.high) * -1.0f), sh, thread, TILE * TILE);
  if (in_picture) coloured(in, s, n, x, y, o, d, hit, rgba + at * 4);
}
__global__ void k_probe(Inputs in, const float* pts, int l, float* out) {
  int i = blockIdx.x * blockDim.x + threadIdx.x;
  if (i < in.n * l) out[i] = probe(in, i / l, v3(pts + i * 3));
}
#endif

extern "C" {

struct Call {
  const float *cam, *light, *groups, *prims, *mats, *breast, *give, *light_cam;
  const float *verts, *normals, *colours, *neutral;
  const int* faces;
  const unsigned long long *zbuf, *shadow;
  int n_prims, give_n, with_breast, n_verts, n_faces, shadow_n, n, w, h;
};

static Inputs inputs_of(const Call* c) {
  Inputs in;
  in.cam = c->cam; in.light = c->light; in.groups = c->groups; in.prims = c->prims; in.mats = c->mats;
  in.breast = c->breast; in.give = c->give; in.light_cam = c->light_cam; in.n_prims = c->n_prims; in.give_n = c->give_n;
  in.with_breast = c->with_breast;
  in.mesh = {c->verts, c->normals, c->colours, c->neutral, c->faces, c->n_verts, c->n_faces};
  in.zbuf = c->zbuf; in.shadow = c->shadow; in.shadow_n = c->shadow_n; in.n = c->n; in.w = c->w; in.h = c->h;
  return in;
}

// Fill `zbuf` (n, h, w), set to all ones before, with the nearest triangle seen by `cam` (n, CAM).
int raster(const Call* c, const float* cam, unsigned long long* zbuf, int w, int h, void* stream) {
  Inputs in = inputs_of(c);
#ifdef __CUDACC__
  size_t total = (size_t)in.n * in.mesh.n_faces;
  k_raster<<<(unsigned)((total + 127) / 128), 128, 0, (cudaStream_t)stream>>>(in, cam, zbuf, w, h);
  return (int)cudaGetLastError();
#else
#pragma omp parallel for schedule(dynamic)
  for (int n = 0; n < in.n; n++)
    for (int f = 0; f < in.mesh.n_faces; f++) raster_triangle(cam + n * CAM, in.mesh, n, f, w, h, zbuf);
  (void)stream;
  return 0;
#endif
}

int draw(const Call* c, float* rgba, float* depth, void* stream) {
  Inputs in = inputs_of(c);
#ifdef __CUDACC__
  if (in.n_prims > MOST) return -1;
  dim3 grid((in.w + TILE - 1) / TILE, (in.h + TILE - 1) / TILE, in.n), block(TILE, TILE);
  k_pixel<<<grid, block, 0, (cudaStream_t)stream>>>(in, rgba, depth);
  return (int)cudaGetLastError();
#else
  int across = (in.w + TILE - 1) / TILE, down = (in.h + TILE - 1) / TILE;
#pragma omp parallel for schedule(dynamic)
  for (int r = 0; r < in.n * across * down; r++)
    draw_tile(in, r / (across * down), r % across * TILE, r / across % down * TILE, rgba, depth);
  (void)stream;
  return 0;
#endif
}

int look(const Call* c, const float* pts, int l, float* out, void* stream) {
  Inputs in = inputs_of(c);
#ifdef __CUDACC__
  k_probe<<<(in.n * l + 127) / 128, 128, 0, (cudaStream_t)stream>>>(in, pts, l, out);
  return (int)cudaGetLastError();
#else
#pragma omp parallel for schedule(dynamic)
  for (int i = 0; i < in.n * l; i++) out[i] = probe(in, i / l, v3(pts + i * 3));
  (void)stream;
  return 0;
#endif
}

}  // extern "C"
