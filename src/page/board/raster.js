// Faces of a solid as pixels with a depth each. Triangles are filled row by row, nearer ones win; the depths then say which
// parts of the edges are in sight. Plain arrays and no graphics hardware: it looks the same on every school laptop.

const FAR = -Infinity;
// Light falls from over the viewer's left shoulder, on top of an even light from everywhere.
const LIGHT = normal([-0.35, 0.65, 0.68]);
const [DARKEST, LIGHTEST] = [140, 252];

/** A solid as typed arrays, made once: welded corners, triangles, a normal for each corner of each triangle. */
export function meshOf(solid) {
  const { corners, place } = welded(solid.positions);
  const triangles = Uint32Array.from(solid.triangles, (i) => place[i]);
  const faces = solid.faces;
  const flat = flatNormals(corners, triangles);
  return {
    corners,
    triangles,
    faces,
    normals: cornerNormals(triangles, faces, flat),
    bends: bendsOf(triangles, flat),
    edges: solid.edges,
    facets: triangles.length / 3,
  };
}

/** A picture of a mesh in memory: colours and depths, `wide` times `high` pixels. */
export class Raster {
  #depth = new Float32Array(0);
  #pixels = new Uint32Array(0);
  #image = null;
  #seen = new Float32Array(0);
  wide = 0;
  high = 0;

  /** Fills the picture: `rows` of the camera, `scale` pixels per millimetre, `middle` of the solid amid the picture. */
  fill(mesh, { rows, scale, middle, marked }, wide, high) {
    this.#resize(wide, high);
    this.#depth.fill(FAR);
    this.#pixels.fill(0);
    const seen = this.#project(mesh, rows, scale, middle);
    const { triangles, normals, faces } = mesh;
    const facing = new Uint8Array(mesh.facets);
    for (let t = 0; t < mesh.facets; t++) {
      const [a, b, c] = [triangles[3 * t] * 3, triangles[3 * t + 1] * 3, triangles[3 * t + 2] * 3];
      const area = (seen[b] - seen[a]) * (seen[c + 1] - seen[a + 1]) - (seen[c] - seen[a]) * (seen[b + 1] - seen[a + 1]);
      // y runs down on the screen, so that what is counter-clockwise on the solid is clockwise here.
      if (area > -1e-3) continue;
      facing[t] = 1;
      const light = [0, 1, 2].map((k) => shade(normals, 9 * t + 3 * k, rows));
      this.#triangle(a, b, c, area, light, marked?.has(faces[t]));
    }
    return facing;
  }

  /** The colours as an image. */
  get image() {
    return this.#image;
  }

  /** A corner as `[x, y, depth]`: pixels, and pixels towards the viewer. */
  corner(i) {
    return [this.#seen[3 * i], this.#seen[3 * i + 1], this.#seen[3 * i + 2]];
  }

  /** Whether nothing lies in front of a place: some pixel beside it is not nearer to the viewer by more than `slack`. */
  inSight(x, y, depth, slack) {
    const limit = depth + slack;
    const [px, py] = [Math.floor(x), Math.floor(y)];
    for (let j = py - 1; j <= py + 1; j++) {
      for (let i = px - 1; i <= px + 1; i++) {
        if (i < 0 || j < 0 || i >= this.wide || j >= this.high || this.#depth[j * this.wide + i] <= limit) return true;
      }
    }
    return false;
  }

  #resize(wide, high) {
    if (wide === this.wide && high === this.high) return;
    [this.wide, this.high] = [wide, high];
    this.#depth = new Float32Array(wide * high);
    this.#image = new ImageData(wide, high);
    this.#pixels = new Uint32Array(this.#image.data.buffer);
  }

  #project({ corners }, rows, scale, middle) {
    if (this.#seen.length !== corners.length) this.#seen = new Float32Array(corners.length);
    const [r, u, n] = [rows.right, rows.up, rows.near];
    const [mx, my, mz] = middle;
    for (let i = 0; i < corners.length; i += 3) {
      const [x, y, z] = [corners[i] - mx, corners[i + 1] - my, corners[i + 2] - mz];
      this.#seen[i] = this.wide / 2 + scale * (r[0] * x + r[1] * y + r[2] * z);
      this.#seen[i + 1] = this.high / 2 - scale * (u[0] * x + u[1] * y + u[2] * z);
      this.#seen[i + 2] = scale * (n[0] * x + n[1] * y + n[2] * z);
    }
    return this.#seen;
  }

  /** Fills one triangle; depth and light change evenly across it. */
  #triangle(a, b, c, area, light, hatched) {
    const s = this.#seen;
    const [ax, ay, az, bx, by, bz, cx, cy, cz] = [s[a], s[a + 1], s[a + 2], s[b], s[b + 1], s[b + 2], s[c], s[c + 1], s[c + 2]];
    const top = Math.max(0, Math.ceil(Math.min(ay, by, cy) - 0.5));
    const bottom = Math.min(this.high - 1, Math.floor(Math.max(ay, by, cy) - 0.5));
    const slopeX = (p, q, r) => ((q - p) * (cy - ay) - (r - p) * (by - ay)) / area;
    const slopeY = (p, q, r) => ((r - p) * (bx - ax) - (q - p) * (cx - ax)) / area;
    const [zx, zy] = [slopeX(az, bz, cz), slopeY(az, bz, cz)];
    const [lx, ly] = [slopeX(...light), slopeY(...light)];
    for (let y = top; y <= bottom; y++) {
      const mid = y + 0.5;
      let [left, right] = [Infinity, -Infinity];
      const side = (px, py, qx, qy) => {
        if (py === qy || mid < Math.min(py, qy) || mid > Math.max(py, qy)) return;
        const x = px + ((mid - py) * (qx - px)) / (qy - py);
        if (x < left) left = x;
        if (x > right) right = x;
      };
      side(ax, ay, bx, by);
      side(bx, by, cx, cy);
      side(cx, cy, ax, ay);
      const from = Math.max(0, Math.ceil(left - 0.5));
      const to = Math.min(this.wide - 1, Math.floor(right - 0.5));
      this.#span(y, from, to, az + zx * (from + 0.5 - ax) + zy * (mid - ay), zx, light[0] + lx * (from + 0.5 - ax) + ly * (mid - ay), lx, hatched);
    }
  }

  #span(y, from, to, z, zx, light, lx, hatched) {
    const [depth, pixels] = [this.#depth, this.#pixels];
    let at = y * this.wide + from;
    for (let x = from; x <= to; x++, at++, z += zx, light += lx) {
      if (z <= depth[at]) continue;
      depth[at] = z;
      pixels[at] = hatched && ((x + y) & 7) < 3 ? 0xff6a5040 : colour(light);
    }
  }
}

/** Pairs of triangles along an inner edge that bends but little, as `[corner, corner, triangle, triangle]` in a row. */
function bendsOf(triangles, flat) {
  const first = new Map();
  const bends = [];
  for (let t = 0; 3 * t < triangles.length; t++) {
    for (let k = 0; k < 3; k++) {
      const [p, q] = [triangles[3 * t + k], triangles[3 * t + ((k + 1) % 3)]];
      const key = p < q ? p * 4294967296 + q : q * 4294967296 + p;
      const other = first.get(key);
      if (other === undefined) first.set(key, t);
      else if (alike(flat, other, t)) bends.push(p, q, other, t);
    }
  }
  return Uint32Array.from(bends);
}

/** Whether two facets are neither in one plane nor at more than 35 degrees: such pairs belong to a round face. */
function alike(flat, s, t) {
  const cos = flat[3 * s] * flat[3 * t] + flat[3 * s + 1] * flat[3 * t + 1] + flat[3 * s + 2] * flat[3 * t + 2];
  return cos > 0.82 && cos < 1 - 1e-9;
}

/** Corners at one place become one corner. */
function welded(positions) {
  const places = new Map();
  const corners = [];
  const place = [];
  for (let i = 0; i < positions.length; i += 3) {
    const key = `${Math.round(positions[i] * 1e5)},${Math.round(positions[i + 1] * 1e5)},${Math.round(positions[i + 2] * 1e5)}`;
    if (!places.has(key)) {
      places.set(key, corners.length / 3);
      corners.push(positions[i], positions[i + 1], positions[i + 2]);
    }
    place.push(places.get(key));
  }
  return { corners: Float64Array.from(corners), place };
}

function flatNormals(corners, triangles) {
  const normals = new Float32Array(triangles.length);
  for (let t = 0; t < triangles.length; t += 3) {
    const [a, b, c] = [0, 1, 2].map((k) => corners.subarray(3 * triangles[t + k], 3 * triangles[t + k] + 3));
    const [ux, uy, uz, vx, vy, vz] = [b[0] - a[0], b[1] - a[1], b[2] - a[2], c[0] - a[0], c[1] - a[1], c[2] - a[2]];
    normals.set(normal([uy * vz - uz * vy, uz * vx - ux * vz, ux * vy - uy * vx]), t);
  }
  return normals;
}

/** The mean normal of a face around each corner: round faces look round. Facets at more than 45 degrees are left out. */
function cornerNormals(triangles, faces, flat) {
  const around = new Map();
  const key = (t, k) => faces[t] * 4294967296 + triangles[3 * t + k];
  for (let t = 0; t < faces.length; t++) {
    for (let k = 0; k < 3; k++) {
      const list = around.get(key(t, k));
      if (list) list.push(t);
      else around.set(key(t, k), [t]);
    }
  }
  const normals = new Float32Array(9 * faces.length);
  for (let t = 0; t < faces.length; t++) {
    for (let k = 0; k < 3; k++) {
      const sum = [0, 0, 0];
      for (const s of around.get(key(t, k))) {
        const cos = flat[3 * s] * flat[3 * t] + flat[3 * s + 1] * flat[3 * t + 1] + flat[3 * s + 2] * flat[3 * t + 2];
        if (cos > Math.SQRT1_2) for (let i = 0; i < 3; i++) sum[i] += flat[3 * s + i];
      }
      normals.set(normal(sum), 9 * t + 3 * k);
    }
  }
  return normals;
}

function normal([x, y, z]) {
  const long = Math.hypot(x, y, z) || 1;
  return [x / long, y / long, z / long];
}

/** How light a corner is, from 0 to 1. */
function shade(normals, i, rows) {
  const along = (row) => row[0] * normals[i] + row[1] * normals[i + 1] + row[2] * normals[i + 2];
  // An oblique picture's rows are no unit vectors; its faces are lit as if seen from the front.
  const light = LIGHT[0] * along(rows.right) + LIGHT[1] * along(rows.up) + LIGHT[2] * along(rows.near);
  return Math.max(0, Math.min(1, 0.25 + 0.75 * light));
}

/** A warm grey, as the bytes alpha, blue, green, red from high to low. */
function colour(light) {
  const grey = DARKEST + (LIGHTEST - DARKEST) * light;
  return (0xff000000 | ((grey * 0.93) << 16) | ((grey * 0.975) << 8) | grey) >>> 0;
}
