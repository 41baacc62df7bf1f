// The program behind the page: Python is started beside the page, and questions go to it one by one. Where an engine
// refuses a worker from a file, the same code runs in the page itself.

export const python = { state: "unpacking", beside: true, told: () => {} };
const waiting = new Map();
let worker = null, here = null, count = 0, started = null;

function tell(state) {
  python.state = state;
  python.told();
}

// A hosted folder has its parts in files of their own, the single file has them as text.
export async function partsOf(page) {
  const scripts = [...page.querySelectorAll("script[data-part]")];
  const data = ({ dataset, textContent }) =>
    dataset.at ? fetch(dataset.at).then((answer) => answer.arrayBuffer()) : textContent;
  return Object.fromEntries(await Promise.all(scripts.map(async (one) => [one.dataset.part, await data(one)])));
}

function beside(packed) {
  return new Promise((done, refused) => {
    worker = new Worker(`data:text/javascript;base64,${btoa(WORKER)}`, { type: "module" });
    worker.onerror = (event) => { event.preventDefault(); refused(new Error("no worker")); };
    worker.onmessage = ({ data }) => {
      const asked = waiting.get(data.number);
      waiting.delete(data.number);
      if (data.what) tell(data.what);
      else if (data.ready) done();
      else if (data.number === undefined) refused(new Error(data.fault));
      else if (data.fault) asked?.fail(new Error(data.fault));
      else asked?.done(data.answer);
    };
    worker.postMessage({ packed });
  });
}

export function startPage() {
  tell("unpacking");
  started = partsOf(document).then(async (packed) => {
    await beside(packed).catch(async () => {
      worker?.terminate();
      worker = null;
      python.beside = false;
      here = await startPython(packed, tell);
    });
    tell("");
  });
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
  worker?.terminate();
  for (const asked of waiting.values()) asked.fail(new Error("stopped"));
  waiting.clear();
  startPage();
}
