// The solid beside the sheet: shaded faces, sharp edges and contours, hidden ones dashed; turned by mouse, finger, keys or
// buttons. Seen from the front, from above or from the right, the drawn view lies over it as a broad pale band, so that one
// sees line by line why the solid has this view.

import { LOOKS, between, rowsOf, turned } from "./camera.js";
import { Raster, meshOf } from "./raster.js";
import { sampled } from "./shapes.js";
import { extent } from "./sheet.js";

const TURN = 0.5;
const KEY_TURN = 15;
const TURNING_TIME = 350;
// A concave edge lies a little behind the pixels beside it, as deep as its faces are steep; a contour has none before it.
const EDGE_SLACK = 2.5;
const CONTOUR_SLACK = 0.8;

/** Shows one reading in a `<canvas>`. */
export class SolidView {
  #canvas;
  #pen;
  #store = document.createElement("canvas");
  #raster = new Raster();
  #camera = LOOKS.isometric;
  #look = "isometric";
  #mesh = null;
  #solid = null;
  #marked = null;
  #sheet = null;
  #zoom = 1;
  #asked = false;
  #motion = null;
  #fingers = new Map();
  #onLook;

  /** `onLook(name)` is told which look is on, or null while it is turned freely. */
  constructor(canvas, onLook) {
    this.#canvas = canvas;
    this.#pen = canvas.getContext("2d");
    this.#onLook = onLook;
    this.#listen();
    new ResizeObserver(() => this.#ask()).observe(canvas);
  }

  /** Shows a solid of an answer, with the sheet it belongs to; `marked` faces are hatched. Null for none. */
  show(solid, sheet, marked = new Set()) {
    if (solid !== this.#solid) this.#mesh = solid && meshOf(solid);
    [this.#solid, this.#sheet, this.#marked] = [solid, sheet, marked];
    this.#ask();
  }

  /** Turns to one of the looks. */
  look(name) {
    this.#look = name;
    this.#onLook(name);
    this.#zoom = 1;
    const still = matchMedia("(prefers-reduced-motion: reduce)").matches;
    this.#motion = still ? null : { from: this.#camera, to: LOOKS[name], start: performance.now() };
    if (still) this.#camera = LOOKS[name];
    this.#ask();
  }

  /** Turns by degrees. */
  turn(around, above) {
    this.#camera = turned(this.#camera, around, above);
    this.#motion = null;
    if (this.#look) this.#onLook(null);
    this.#look = null;
    this.#ask();
  }

  /** Comes closer (factor above 1) or goes away. */
  closer(factor) {
    this.#zoom = Math.max(0.5, Math.min(8, this.#zoom * factor));
    this.#ask();
  }

  #listen() {
    const canvas = this.#canvas;
    canvas.addEventListener("pointerdown", (event) => {
      canvas.setPointerCapture(event.pointerId);
      this.#fingers.set(event.pointerId, [event.clientX, event.clientY]);
    });
    canvas.addEventListener("pointermove", (event) => this.#drag(event));
    for (const end of ["pointerup", "pointercancel"]) {
      canvas.addEventListener(end, (event) => this.#fingers.delete(event.pointerId));
    }
    canvas.addEventListener("wheel", (event) => {
      event.preventDefault();
      this.closer(Math.exp(-event.deltaY * 0.0015));
    }, { passive: false });
    canvas.addEventListener("keydown", (event) => this.#key(event));
  }

  #drag(event) {
    const last = this.#fingers.get(event.pointerId);
    if (!last) return;
    const now = [event.clientX, event.clientY];
    this.#fingers.set(event.pointerId, now);
    const others = [...this.#fingers].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    if (others.length === 0) return this.turn(-(now[0] - last[0]) * TURN, (now[1] - last[1]) * TURN);
    const apart = (p) => Math.hypot(p[0] - others[0][0], p[1] - others[0][1]) || 1;
    this.closer(apart(now) / apart(last));
  }

  #key(event) {
    const steps = { ArrowLeft: [-1, 0], ArrowRight: [1, 0], ArrowUp: [0, 1], ArrowDown: [0, -1] };
    if (event.ctrlKey || event.metaKey || event.altKey) return;
    if (steps[event.key]) this.turn(...steps[event.key].map((step) => step * KEY_TURN));
    else if (event.key === "+" || event.key === "=") this.closer(1.25);
    else if (event.key === "-") this.closer(0.8);
    else if (event.key === "Home") this.look("isometric");
    else return;
    event.preventDefault();
  }

  #ask() {
    if (this.#asked) return;
    this.#asked = true;
    requestAnimationFrame((now) => {
      this.#asked = false;
      if (this.#motion) {
        const share = (now - this.#motion.start) / TURNING_TIME;
        this.#camera = between(this.#motion.from, this.#motion.to, Math.max(0, share));
        if (share >= 1) this.#motion = null;
        else this.#ask();
      }
      const start = performance.now();
      this.#paint();
      // For whoever wants to know how long a frame takes.
      this.#canvas.dataset.frame = (performance.now() - start).toFixed(2);
    });
  }

  #paint() {
    const { clientWidth: wide, clientHeight: high } = this.#canvas;
    const fine = Math.min(2, devicePixelRatio || 1);
    if (wide === 0 || high === 0) return;
    if (this.#canvas.width !== Math.round(wide * fine) || this.#canvas.height !== Math.round(high * fine)) {
      [this.#canvas.width, this.#canvas.height] = [Math.round(wide * fine), Math.round(high * fine)];
    }
    this.#pen.setTransform(fine, 0, 0, fine, 0, 0);
    this.#pen.clearRect(0, 0, wide, high);
    if (!this.#mesh) return;
    const frame = this.#frame(wide, high);
    const facing = this.#raster.fill(this.#mesh, frame, wide, high);
    [this.#store.width, this.#store.height] = [wide, high];
    this.#store.getContext("2d").putImageData(this.#raster.image, 0, 0);
    this.#pen.drawImage(this.#store, 0, 0);
    if (!this.#motion && this.#look) this.#drawnView(frame);
    this.#strokes(frame, facing);
  }

  #frame(wide, high) {
    const [w, d, h] = this.#solid.size;
    const across = Math.hypot(w, d, h) * (this.#camera.slant ? 1.15 : 1.04);
    const scale = (Math.min(wide, high) / across) * this.#zoom;
    return { rows: rowsOf(this.#camera), scale, middle: [w / 2, d / 2, h / 2], marked: this.#marked };
  }

  /** Edges and contours: what is in sight as full lines, the rest dashed and thinner. */
  #strokes(frame, facing) {
    const [sight, behind] = [new Path2D(), new Path2D()];
    const at = this.#toScreen(frame);
    for (const edge of this.#mesh.edges) {
      let from = at(edge[0], edge[1], edge[2]);
      for (let i = 3; i < edge.length; i += 3) {
        const to = at(edge[i], edge[i + 1], edge[i + 2]);
        this.#stroke([from, to], EDGE_SLACK, sight, behind);
        from = to;
      }
    }
    const { bends } = this.#mesh;
    for (let i = 0; i < bends.length; i += 4) {
      if (facing[bends[i + 2]] === facing[bends[i + 3]]) continue;
      this.#stroke([this.#raster.corner(bends[i]), this.#raster.corner(bends[i + 1])], CONTOUR_SLACK, sight, behind);
    }
    const pen = this.#pen;
    [pen.lineCap, pen.lineJoin, pen.strokeStyle] = ["round", "round", "#1c1a17"];
    pen.setLineDash([5, 4]);
    pen.lineWidth = 1;
    pen.globalAlpha = 0.55;
    pen.stroke(behind);
    pen.setLineDash([]);
    pen.globalAlpha = 1;
    pen.lineWidth = 1.8;
    pen.stroke(sight);
  }

  #toScreen({ rows, scale, middle }) {
    const { wide, high } = this.#raster;
    const along = (row, x, y, z) => row[0] * (x - middle[0]) + row[1] * (y - middle[1]) + row[2] * (z - middle[2]);
    return (x, y, z) => [
      wide / 2 + scale * along(rows.right, x, y, z),
      high / 2 - scale * along(rows.up, x, y, z),
      scale * along(rows.near, x, y, z),
    ];
  }

  /** Adds one straight piece to the two paths, changing over where it goes behind something. */
  #stroke([[ax, ay, az], [bx, by, bz]], slack, sight, behind) {
    const steps = Math.max(1, Math.ceil(Math.hypot(bx - ax, by - ay) / 3));
    let path = null;
    for (let i = 0; i < steps; i++) {
      const mid = (i + 0.5) / steps;
      const seen = this.#raster.inSight(ax + (bx - ax) * mid, ay + (by - ay) * mid, az + (bz - az) * mid, slack);
      const here = seen ? sight : behind;
      if (here !== path) {
        path?.lineTo(ax + ((bx - ax) * i) / steps, ay + ((by - ay) * i) / steps);
        here.moveTo(ax + ((bx - ax) * i) / steps, ay + ((by - ay) * i) / steps);
        path = here;
      }
    }
    path.lineTo(bx, by);
  }

  /** The drawn lines of the view that this look shows, where the solid's own view has them. */
  #drawnView({ scale, middle: [mx, my, mz] }) {
    const view = this.#look;
    const middles = { front: [mx, mz], top: [mx, my], right: [my, mz] };
    if (!middles[view] || !this.#sheet) return;
    const [left, bottom] = extent(this.#sheet, view);
    const { wide, high } = this.#raster;
    const pen = this.#pen;
    pen.strokeStyle = "#2f6db5";
    pen.globalAlpha = 0.45;
    pen.lineCap = "butt";
    for (const line of this.#sheet.lines) {
      if (line.view !== view || (line.type !== "visible" && line.type !== "hidden")) continue;
      pen.lineWidth = line.type === "visible" ? 9 : 6;
      pen.setLineDash(line.type === "visible" ? [] : [9, 5]);
      pen.beginPath();
      for (const [x, y] of sampled(line)) {
        pen.lineTo(wide / 2 + (x - left - middles[view][0]) * scale, high / 2 - (y - bottom - middles[view][1]) * scale);
      }
      pen.stroke();
    }
    pen.globalAlpha = 1;
    pen.setLineDash([]);
  }
}

/** For each reading the faces that some other reading has not, by the places they cover. */
export function differing(solids) {
  const marks = solids.map(signatures);
  return marks.map((own, i) => {
    const others = marks.filter((_, j) => j !== i).map((other) => new Set(other.values()));
    return new Set([...own].filter(([, mark]) => others.some((other) => !other.has(mark))).map(([face]) => face));
  });
}

/** A face as words that are the same for the same face: where its middle is, which way it faces, how large it is. */
function signatures({ positions, triangles, faces }) {
  const sums = new Map();
  faces.forEach((face, t) => {
    const [a, b, c] = [0, 1, 2].map((k) => positions.slice(3 * triangles[3 * t + k], 3 * triangles[3 * t + k] + 3));
    const [u, v] = [b, c].map((p) => [p[0] - a[0], p[1] - a[1], p[2] - a[2]]);
    const n = [u[1] * v[2] - u[2] * v[1], u[2] * v[0] - u[0] * v[2], u[0] * v[1] - u[1] * v[0]];
    const area = Math.hypot(...n);
    const sum = sums.get(face) ?? [0, 0, 0, 0, 0, 0, 0];
    for (let i = 0; i < 3; i++) {
      sum[i] += n[i];
      sum[3 + i] += (area * (a[i] + b[i] + c[i])) / 3;
    }
    sum[6] += area;
    sums.set(face, sum);
  });
  const words = ([nx, ny, nz, x, y, z, area]) => [nx, ny, nz, x / area, y / area, z / area, area].map((v) => v.toFixed(2)).join();
  return new Map([...sums].map(([face, sum]) => [face, words(sum).replace(/-0\.00/g, "0.00")]));
}
