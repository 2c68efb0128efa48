// The geometry of one drawn line, whatever its shape. Straight shapes are chains of points; circles, arcs and ellipses are
// all one thing here, a stretch of an ellipse with a centre, two radii, a turn and a sweep. Millimetres, y up, angles in
// degrees counter-clockwise.

/** The names a line's shape can have in a sheet. */
export const SHAPES = ["line", "polyline", "circle", "arc", "ellipse", "elliptical_arc", "curve"];

/** The name of a line's shape. */
export function shapeOf(line) {
  return SHAPES.find((name) => line[name] !== undefined);
}

/** The points of a straight or sampled shape, or null for a round one. */
export function chain(line) {
  if (line.line) {
    const [x1, y1, x2, y2] = line.line;
    return [[x1, y1], [x2, y2]];
  }
  return line.polyline ?? line.curve ?? null;
}

/** A round shape as `{cx, cy, rx, ry, turn, start, sweep}`, or null for another one. */
export function round(line) {
  if (line.circle) {
    const [cx, cy, r] = line.circle;
    return { cx, cy, rx: r, ry: r, turn: 0, start: 0, sweep: 360 };
  }
  if (line.arc) {
    const [cx, cy, r, start, end] = line.arc;
    return { cx, cy, rx: r, ry: r, turn: 0, start, sweep: sweepOf(start, end) };
  }
  if (line.ellipse) {
    const [cx, cy, rx, ry, turn] = line.ellipse;
    return { cx, cy, rx, ry, turn, start: 0, sweep: 360 };
  }
  if (line.elliptical_arc) {
    const [cx, cy, rx, ry, turn, start, end] = line.elliptical_arc;
    return { cx, cy, rx, ry, turn, start, sweep: sweepOf(start, end) };
  }
  return null;
}

/** The point of a round shape at an angle (its own, before the turn). */
export function onRound(r, angle) {
  const u = r.rx * Math.cos(radians(angle));
  const v = r.ry * Math.sin(radians(angle));
  const [c, s] = [Math.cos(radians(r.turn)), Math.sin(radians(r.turn))];
  return [r.cx + u * c - v * s, r.cy + u * s + v * c];
}

/** Points along a line, close enough together to be taken for it (within 4 degrees on round shapes). */
export function sampled(line) {
  const r = round(line);
  if (!r) return chain(line);
  const count = Math.max(4, Math.ceil(r.sweep / 4));
  return Array.from({ length: count + 1 }, (_, i) => onRound(r, r.start + (r.sweep * i) / count));
}

/** The two ends of an open line; none if it goes all the way round. */
export function ends(line) {
  const r = round(line);
  if (r) return r.sweep >= 360 ? [] : [onRound(r, r.start), onRound(r, r.start + r.sweep)];
  const points = chain(line);
  return [points[0], points[points.length - 1]];
}

/** Points that other views refer to: ends, corners, centres, and where a round line turns back. */
export function keyPoints(line) {
  const r = round(line);
  if (!r) return line.curve ? ends(line) : chain(line);
  const extremes = extremeAngles(r).filter((a) => within(r, a)).map((a) => onRound(r, a));
  return [[r.cx, r.cy], ...ends(line), ...extremes];
}

/** The box around a line, `[left, bottom, right, top]`. */
export function boxOf(line) {
  const r = round(line);
  const points = r ? [...ends(line), ...keyPoints(line).slice(1)] : chain(line);
  return boxAround(points);
}

/** The box around points; inside out if there are none. */
export function boxAround(points) {
  const box = [Infinity, Infinity, -Infinity, -Infinity];
  for (const [x, y] of points) {
    box[0] = Math.min(box[0], x);
    box[1] = Math.min(box[1], y);
    box[2] = Math.max(box[2], x);
    box[3] = Math.max(box[3], y);
  }
  return box;
}

/** The line shifted by (dx, dy). */
export function moved(line, dx, dy) {
  return mapped(line, ([x, y]) => [x + dx, y + dy], 1);
}

/** The line with every length multiplied. */
export function scaled(line, factor) {
  return mapped(line, ([x, y]) => [x * factor, y * factor], factor);
}

/** How far a point is from a line. */
export function distance(line, [px, py]) {
  const points = sampled(line);
  let least = Infinity;
  for (let i = 1; i < points.length; i++) {
    least = Math.min(least, toSegment(points[i - 1], points[i], px, py));
  }
  return least;
}

/** Where two lines cross: exact for straight lines and circles, else between sampled points. */
export function crossings(a, b) {
  const [ra, rb] = [round(a), round(b)];
  if (!ra && rb) return straightAndRound(chain(a), rb);
  if (ra && !rb) return straightAndRound(chain(b), ra);
  const [p, q] = [sampled(a), sampled(b)];
  const found = [];
  for (let i = 1; i < p.length; i++) {
    for (let j = 1; j < q.length; j++) {
      const at = segmentsCross(p[i - 1], p[i], q[j - 1], q[j]);
      if (at) found.push(at);
    }
  }
  return found;
}

/** The outline as an SVG path; y is turned round, since it runs down there. */
export function pathData(line) {
  const r = round(line);
  if (!r) {
    return chain(line).map(([x, y], i) => `${i ? "L" : "M"}${short(x)} ${short(-y)}`).join("");
  }
  const steps = Math.max(2, Math.ceil(r.sweep / 120));
  const to = (i) => onRound(r, r.start + (r.sweep * i) / steps).map(short);
  let path = `M${to(0)[0]} ${short(-to(0)[1])}`;
  for (let i = 1; i <= steps; i++) {
    const [x, y] = to(i);
    path += `A${short(r.rx)} ${short(r.ry)} ${short(-r.turn)} 0 0 ${x} ${short(-y)}`;
  }
  return path;
}

/** How long a straight line is, or the radius of a round one. */
export function size(line) {
  const r = round(line);
  if (r) return r.rx;
  const points = chain(line);
  return points.slice(1).reduce((sum, p, i) => sum + Math.hypot(p[0] - points[i][0], p[1] - points[i][1]), 0);
}

/** Degrees from start counter-clockwise to end, more than 0 and at most 360. */
export function sweepOf(start, end) {
  const sweep = (((end - start) % 360) + 360) % 360;
  return sweep === 0 ? 360 : sweep;
}

/** A number without the noise of binary fractions: a millionth of a millimetre is far below what anyone can draw. */
export function tidy(value) {
  return Math.round(value * 1e6) / 1e6 + 0;
}

function mapped(line, point, factor) {
  const at = (x, y) => point([x, y]).map(tidy);
  const length = (value) => tidy(value * factor);
  const name = shapeOf(line);
  const value = line[name];
  const shape = () => {
    switch (name) {
      case "line": return [...at(value[0], value[1]), ...at(value[2], value[3])];
      case "polyline":
      case "curve": return value.map(([x, y]) => at(x, y));
      case "circle":
      case "arc": return [...at(value[0], value[1]), length(value[2]), ...value.slice(3)];
      default: return [...at(value[0], value[1]), length(value[2]), length(value[3]), ...value.slice(4)];
    }
  };
  return { ...line, [name]: shape() };
}

function radians(degrees) {
  return (degrees * Math.PI) / 180;
}

function short(value) {
  return Math.round(value * 1e4) / 1e4 + 0;
}

/** Angles at which x or y of a round shape turns back. */
function extremeAngles(r) {
  const [c, s] = [Math.cos(radians(r.turn)), Math.sin(radians(r.turn))];
  const x = (Math.atan2(-r.ry * s, r.rx * c) * 180) / Math.PI;
  const y = (Math.atan2(r.ry * c, r.rx * s) * 180) / Math.PI;
  return [x, x + 180, y, y + 180];
}

function within(r, angle) {
  return r.sweep >= 360 || sweepOf(r.start, angle) < r.sweep;
}

function toSegment([ax, ay], [bx, by], px, py) {
  const [dx, dy] = [bx - ax, by - ay];
  const long = dx * dx + dy * dy;
  const t = long === 0 ? 0 : Math.min(1, Math.max(0, ((px - ax) * dx + (py - ay) * dy) / long));
  return Math.hypot(px - ax - t * dx, py - ay - t * dy);
}

function segmentsCross([ax, ay], [bx, by], [cx, cy], [dx, dy]) {
  const [ux, uy, vx, vy] = [bx - ax, by - ay, dx - cx, dy - cy];
  const cross = ux * vy - uy * vx;
  // Less than about a thousandth of a degree apart: they run along one another rather than cross.
  if (Math.abs(cross) < 1e-5 * Math.hypot(ux, uy) * Math.hypot(vx, vy)) return null;
  const t = ((cx - ax) * vy - (cy - ay) * vx) / cross;
  const s = ((cx - ax) * uy - (cy - ay) * ux) / cross;
  const inside = (value) => value > -1e-9 && value < 1 + 1e-9;
  return inside(t) && inside(s) ? [tidy(ax + t * ux), tidy(ay + t * uy)] : null;
}

/** Crossings of a chain of straight lines with a round shape, worked out where that shape is a unit circle. */
function straightAndRound(points, r) {
  const [c, s] = [Math.cos(radians(r.turn)), Math.sin(radians(r.turn))];
  const unit = ([x, y]) => {
    const [dx, dy] = [x - r.cx, y - r.cy];
    return [(dx * c + dy * s) / r.rx, (dy * c - dx * s) / r.ry];
  };
  const found = [];
  for (let i = 1; i < points.length; i++) {
    const [[ax, ay], [bx, by]] = [unit(points[i - 1]), unit(points[i])];
    const [dx, dy] = [bx - ax, by - ay];
    const [p, q, k] = [dx * dx + dy * dy, ax * dx + ay * dy, ax * ax + ay * ay - 1];
    // A line that only touches misses by rounding: a shortfall of a millionth of the radius counts as touching.
    const root = q * q - p * k;
    if (p === 0 || root < -1e-6 * p) continue;
    for (const sign of [-1, 1]) {
      const t = (-q + sign * Math.sqrt(Math.max(0, root))) / p;
      const angle = (Math.atan2(ay + t * dy, ax + t * dx) * 180) / Math.PI;
      if (t > -1e-9 && t < 1 + 1e-9 && within(r, angle)) found.push(onRound(r, angle).map(tidy));
    }
  }
  return found;
}
