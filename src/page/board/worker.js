// The engine in a worker of its own, so that drawing never waits for it. It is told `{wasm}`, the compressed WebAssembly
// module in letters, or `{module}`, the compiled one of an earlier worker, and says `{ready, module}`. From then on each
// `{id, request}` is answered by `{id, answer}`. After `{failed}` the module is in no good state: end the worker.

import { unpacked } from "./letters.js";

let engine = null;

async function start({ wasm, module }) {
  const ready = module ?? (await WebAssembly.compile(await unpacked(wasm)));
  engine = (await WebAssembly.instantiate(ready, {})).exports;
  postMessage({ ready: true, module: ready });
}

function answered(request) {
  const place = engine.alloc(request.length);
  new Uint8Array(engine.memory.buffer).set(request, place);
  const found = engine.answer(place, request.length);
  engine.free(place, request.length);
  // The memory may have grown and moved, so it is looked up again.
  const length = new DataView(engine.memory.buffer).getUint32(found, true);
  const answer = new Uint8Array(engine.memory.buffer, found + 4, length).slice();
  engine.free(found, length + 4);
  return answer;
}

onmessage = async ({ data }) => {
  try {
    if (!data.request) await start(data);
    else {
      const answer = answered(data.request);
      postMessage({ id: data.id, answer }, [answer.buffer]);
    }
  } catch (error) {
    postMessage({ id: data.id, failed: String(error) });
  }
};
