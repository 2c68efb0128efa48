// Talking to the engine, away from the page's main thread: as requests to the server that gave the page, or to workers
// with the engine as WebAssembly inside. In each lane only the newest request counts; the older one is given up, and its
// answer, should it still come, is dropped. A worker that is stuck or breaks is ended and started anew.

const PATIENCE = 20000;
// A worker busy with an older question gets this long to finish by itself: starting anew costs about as much.
const GRACE = 150;

/** The question was overtaken by a newer one; not a fault. */
export class Overtaken extends Error {}

/** Asks the engine. `kind` is `server` or `wasm`. */
export class Engine {
  #lanes = new Map();
  #makeLane;

  constructor(kind, onTrouble) {
    const shared = { module: null };
    this.#makeLane = kind === "wasm" ? () => new WorkerLane(shared, onTrouble) : () => new ServerLane();
  }

  /**
   * The answer to a question, as an object if it is JSON, else as bytes. Rejects with `Overtaken` when a newer question in the
   * same lane comes first, and with another error when the engine could not answer.
   */
  async ask(question, lane = "live") {
    this.prepare(lane);
    const request = new TextEncoder().encode(JSON.stringify(question));
    const bytes = await this.#lanes.get(lane).ask(request);
    // 0x7b is an opening brace: the answer is JSON.
    if (bytes[0] !== 0x7b) return bytes;
    return JSON.parse(new TextDecoder().decode(bytes));
  }

  /** Gets a lane ready, so that its first question need not wait for that. */
  prepare(lane) {
    if (!this.#lanes.has(lane)) this.#lanes.set(lane, this.#makeLane());
  }

  /** Gives up what a lane is doing. */
  giveUp(lane) {
    this.#lanes.get(lane)?.giveUp();
  }
}

class ServerLane {
  #running = null;

  async ask(request) {
    this.giveUp();
    const running = new AbortController();
    this.#running = running;
    const late = setTimeout(() => running.abort("late"), PATIENCE);
    try {
      const answer = await fetch("answer", {
        method: "POST",
        headers: { "Content-Type": "application/json" },
        body: request,
        signal: running.signal,
      });
      const bytes = new Uint8Array(await answer.arrayBuffer());
      if (this.#running !== running) throw new Overtaken();
      return bytes;
    } catch (error) {
      if (this.#running !== running) throw new Overtaken();
      throw error;
    } finally {
      clearTimeout(late);
    }
  }

  giveUp() {
    this.#running?.abort();
    this.#running = null;
  }
}

class WorkerLane {
  #shared;
  #onTrouble;
  #worker = null;
  #url = "";
  #ready = false;
  #count = 0;
  #current = null;
  #waiting = null;
  #timer = 0;

  constructor(shared, onTrouble) {
    [this.#shared, this.#onTrouble] = [shared, onTrouble];
    this.#start();
  }

  ask(request) {
    return new Promise((resolve, reject) => {
      this.#waiting?.reject(new Overtaken());
      this.#waiting = { request, resolve, reject };
      if (this.#current) this.#hurry();
      this.#next();
    });
  }

  giveUp() {
    this.#waiting?.reject(new Overtaken());
    this.#waiting = null;
    if (this.#current) this.#restart(new Overtaken());
  }

  #start() {
    const source = document.getElementById("board-worker").textContent;
    const url = URL.createObjectURL(new Blob([source], { type: "text/javascript" }));
    const worker = new Worker(url);
    this.#url = url;
    this.#worker = worker;
    this.#ready = false;
    worker.onmessage = ({ data }) => worker === this.#worker && this.#heard(data);
    worker.onerror = (event) => {
      event.preventDefault();
      if (worker !== this.#worker) return;
      if (this.#ready) this.#broke(event.message);
      else this.#neverReady(event.message);
    };
    const { module } = this.#shared;
    worker.postMessage(module ? { module } : { wasm: document.getElementById("board-wasm").textContent });
  }

  #heard(message) {
    if (message.ready) {
      this.#shared.module = message.module;
      this.#ready = true;
      URL.revokeObjectURL(this.#url);
      return this.#next();
    }
    if (message.id === undefined) return this.#neverReady(message.failed);
    if (message.id !== this.#current?.id) return;
    if (message.failed !== undefined) return this.#broke(message.failed);
    const { resolve, reject, stale } = this.#current;
    this.#current = null;
    clearTimeout(this.#timer);
    if (stale) reject(new Overtaken());
    else resolve(message.answer);
    this.#next();
  }

  /** Sends the waiting question if the worker is free. */
  #next() {
    if (!this.#ready || this.#current || !this.#waiting) return;
    this.#count += 1;
    this.#current = { ...this.#waiting, id: this.#count };
    this.#waiting = null;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#broke("late"), PATIENCE);
    this.#worker.postMessage({ id: this.#current.id, request: this.#current.request });
  }

  /** The present question is out of date: lets it finish for a moment, then ends it. */
  #hurry() {
    if (this.#current.stale) return;
    this.#current.stale = true;
    clearTimeout(this.#timer);
    this.#timer = setTimeout(() => this.#restart(new Overtaken()), GRACE);
  }

  #broke(why) {
    const stale = this.#current?.stale;
    this.#restart(stale ? new Overtaken() : new Error(String(why)));
    if (!stale) this.#onTrouble(why);
  }

  #neverReady(why) {
    this.#waiting?.reject(new Error(String(why)));
    this.#waiting = null;
    this.#onTrouble(why);
  }

  #restart(reason) {
    clearTimeout(this.#timer);
    this.#worker.terminate();
    this.#current?.reject(reason);
    this.#current = null;
    this.#start();
  }
}
