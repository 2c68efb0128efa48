// Mouse, pen and finger on the paper. One pointer draws; two fingers, the middle button or the hand shift and zoom the
// paper; the wheel zooms. What a stroke is, the tools decide.

// How near a pointer must come to be drawn to a place, in pixels: a finger covers more than a mouse.
const REACH = { mouse: 10, pen: 12, touch: 20 };
// A pointer that moved less than this between down and up has clicked, not dragged.
const STILL = 5;

/** Lets pointers on `svg` drive the tools and the view of the paper. */
export class Pointer {
  /** Whether the left button shifts the paper instead of drawing. */
  hand = false;
  #svg;
  #paper;
  #tools;
  #onUse;
  #down = new Map();
  #pressedAt = null;
  #held = null;
  #pinched = false;

  constructor(svg, paper, tools, onUse) {
    [this.#svg, this.#paper, this.#tools, this.#onUse] = [svg, paper, tools, onUse];
    svg.addEventListener("pointerdown", (event) => this.#press(event));
    svg.addEventListener("pointermove", (event) => this.#move(event));
    svg.addEventListener("pointerup", (event) => this.#release(event));
    svg.addEventListener("pointercancel", (event) => this.#forget(event));
    svg.addEventListener("pointerleave", () => this.#down.size === 0 && !tools.busy && tools.cancel());
    svg.addEventListener("wheel", (event) => this.#wheel(event), { passive: false });
    svg.addEventListener("contextmenu", (event) => event.preventDefault());
  }

  #press(event) {
    this.#onUse();
    this.#svg.setPointerCapture(event.pointerId);
    this.#down.set(event.pointerId, [event.clientX, event.clientY]);
    if (this.#down.size > 1) {
      this.#pinched = true;
      this.#held = null;
      this.#tools.cancel();
    } else if (this.#draws(event)) {
      this.#pressedAt = [event.clientX, event.clientY];
      this.#held = [this.#at(event), this.#how(event)];
      // A finger may be the first of two that only want to zoom: wait for what it does.
      if (event.pointerType !== "touch") this.#setDown();
    }
  }

  #setDown() {
    if (this.#held) this.#tools.press(...this.#held);
    this.#held = null;
  }

  #move(event) {
    const last = this.#down.get(event.pointerId);
    if (last && (this.#pinched || !this.#pressedAt)) return this.#shift(event, last);
    this.#onUse();
    if (this.#held && !this.#strayed(event)) return;
    this.#setDown();
    if (!this.hand) this.#tools.hover(this.#at(event), this.#how(event));
  }

  #release(event) {
    const dragged = this.#pressedAt && !this.#pinched && this.#strayed(event);
    if (!this.#pinched) this.#setDown();
    this.#forget(event);
    if (dragged) this.#tools.release(this.#at(event), this.#how(event));
  }

  #strayed(event) {
    return Math.hypot(event.clientX - this.#pressedAt[0], event.clientY - this.#pressedAt[1]) > STILL;
  }

  #forget(event) {
    this.#down.delete(event.pointerId);
    this.#pressedAt = null;
    this.#held = null;
    if (this.#down.size === 0) this.#pinched = false;
  }

  /** Moves the paper along with the pointer; with two fingers zooms as they move apart. */
  #shift(event, last) {
    const others = [...this.#down].filter(([id]) => id !== event.pointerId).map(([, at]) => at);
    const now = [event.clientX, event.clientY];
    this.#down.set(event.pointerId, now);
    const share = 1 / this.#down.size;
    this.#paper.pan(this.#paper.mm((now[0] - last[0]) * share), -this.#paper.mm((now[1] - last[1]) * share));
    if (others.length === 1) {
      const apart = (p) => Math.hypot(p[0] - others[0][0], p[1] - others[0][1]);
      const middle = this.#paper.toSheet((now[0] + others[0][0]) / 2, (now[1] + others[0][1]) / 2);
      if (apart(last) > 0) this.#paper.zoom(apart(now) / apart(last), middle);
    }
  }

  #wheel(event) {
    event.preventDefault();
    this.#paper.zoom(Math.exp(-event.deltaY * 0.0015), this.#at(event));
  }

  #draws(event) {
    return event.button === 0 && !this.hand;
  }

  #at(event) {
    return this.#paper.toSheet(event.clientX, event.clientY);
  }

  #how(event) {
    return { reach: this.#paper.mm(REACH[event.pointerType] ?? REACH.mouse), fine: event.altKey };
  }
}
