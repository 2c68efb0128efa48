// From where the solid is looked at. A camera is two angles, or the oblique slant, and comes down to three rows of numbers: how
// far right, how far up, and how near each step along x, y and z shows. Object axes: x right, y away, z up.

/** The looks at a click; angles in degrees: how far one has walked round to the right, and how high one looks from. */
export const LOOKS = {
  // True isometric: the elevation at which all three axes are shortened alike, atan(1 / sqrt 2).
  isometric: { around: 45, above: (Math.atan(Math.SQRT1_2) * 180) / Math.PI },
  oblique: { around: 0, above: 0, slant: true },
  front: { around: 0, above: 0 },
  top: { around: 0, above: 90 },
  right: { around: 90, above: 0 },
};

// The receding axis of an oblique picture: 45 degrees, half length (cabinet projection, ISO 5456-3).
const RECEDE = Math.SQRT1_2 / 2;

/** The rows `{right, up, near}` of a camera, each the share of x, y and z. */
export function rowsOf({ around, above, slant }) {
  if (slant) return { right: [1, RECEDE, 0], up: [0, RECEDE, 1], near: [0, -1, 0] };
  const [ca, sa] = [cosine(around), sine(around)];
  const [ce, se] = [cosine(above), sine(above)];
  return { right: [ca, sa, 0], up: [-sa * se, ca * se, ce], near: [sa * ce, -ca * ce, se] };
}

/** The camera after turning by degrees; an oblique one first becomes an ordinary one nearby. */
export function turned(camera, around, above) {
  const from = camera.slant ? { around: 20, above: 20 } : camera;
  const wrapped = (((from.around + around + 180) % 360) + 360) % 360 - 180;
  return { around: wrapped, above: Math.max(-90, Math.min(90, from.above + above)) };
}

/** A camera on the way from one to another, `share` from 0 to 1, the short way round. */
export function between(from, to, share) {
  if (share >= 1 || from.slant || to.slant) return to;
  const round = ((((to.around - from.around + 180) % 360) + 360) % 360) - 180;
  return { around: from.around + round * share, above: from.above + (to.above - from.above) * share };
}

// Whole quarter turns exactly: a face seen edge-on must not show a sliver.
function cosine(degrees) {
  return degrees % 180 === 90 || degrees % 180 === -90 ? 0 : Math.cos((degrees * Math.PI) / 180);
}

function sine(degrees) {
  return degrees % 180 === 0 ? 0 : Math.sin((degrees * Math.PI) / 180);
}
