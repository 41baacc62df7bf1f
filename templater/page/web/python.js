// The program behind the page: its parts are unpacked, Python is started beside the page, questions go to it one by one.
// Where an engine refuses a worker from a file, the same code runs in the page itself.

export const python = { state: "unpacking", ready: false, beside: true, told: () => {} };
const waiting = new Map();
let worker = null, here = null, count = 0, started = null;

function tell(state) {
  python.state = state;
  python.told();
}

async function unpacked() {
  const parts = {};
  await Promise.all([...document.querySelectorAll("script[data-part]")].map(async (part) => {
    const address = part.dataset.at ?? `data:application/octet-stream;base64,${part.textContent}`;
    const stream = (await fetch(address)).body.pipeThrough(new DecompressionStream("gzip"));
    parts[part.dataset.part] = new Uint8Array(await new Response(stream).arrayBuffer());
  }));
  return parts;
}

function beside(parts) {
  return new Promise((done, refused) => {
    worker = new Worker(`data:text/javascript;base64,${btoa(WORKER)}`, { type: "module" });
    worker.onerror = (event) => { event.preventDefault(); refused(new Error("no worker")); };
    worker.onmessage = ({ data }) => {
      if (data.what) tell(data.what);
      else if (data.ready) done();
      else if (data.number === undefined) refused(new Error(data.fault));
      else {
        const asked = waiting.get(data.number);
        waiting.delete(data.number);
        if (data.fault) asked?.fail(new Error(data.fault));
        else asked?.done(data.answer);
      }
    };
    worker.postMessage({ parts });
  });
}

export function startPage() {
  started = (async () => {
    tell("unpacking");
    const parts = await unpacked();
    try {
      await beside(parts);
    } catch (fault) {
      if (fault.message !== "no worker") throw fault;
      worker = null;
      python.beside = false;
      here = await startPython(await unpacked(), tell);
    }
    python.ready = true;
    tell("");
  })();
  started.catch((fault) => tell(`this browser cannot run the program (${fault.message})`));
  return started;
}

export async function ask(name, question, files = {}) {
  await started;
  if (here) {
    await new Promise((done) => setTimeout(done, 0));
    return here(name, question, files);
  }
  const number = ++count;
  return new Promise((done, fail) => {
    waiting.set(number, { done, fail });
    worker.postMessage({ number, name, question, files });
  });
}

// Ends what runs too long; the texts are in the page, so nothing is lost.
export function stopPython() {
  if (!worker) return;
  worker.terminate();
  for (const asked of waiting.values()) asked.fail(new Error("stopped"));
  waiting.clear();
  python.ready = false;
  startPage();
}
