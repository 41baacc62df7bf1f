// The builder's work: texts, what Python last said of them, undo, and keeping it all in the browser at once.

const EMPTY = { text: "", file: "boat.yaml", bases: {}, readings: "", printers: {} };
export const work = {
  job: { ...EMPTY }, look: { values: {}, findings: [], pictures: [] }, form: [], view: "boat", key: "", busy: "",
  notice: "", kept: true, other: null, ticks: {}, undo: [], redo: [], drawn: () => {},
};
const given = (() => {
  const inside = document.getElementById("job").textContent.trim();
  if (!inside) return null;
  const bytes = Uint8Array.from(atob(inside), (letter) => letter.charCodeAt(0));
  return { ...EMPTY, ...JSON.parse(new TextDecoder().decode(bytes)) };
})();
// Copies with different boats keep their work apart, even where a browser takes all files for one place.
const PLACE = `templater:${given ? [...given.text].reduce((sum, letter) => (sum * 31 + letter.codePointAt(0)) >>> 0, 7) : "own"}`;
const ME = Math.random().toString(36).slice(2);

export function draw() { work.drawn(); }

export function keep() {
  if (work.other) return;
  try {
    const { printers } = work.job;
    localStorage.setItem(PLACE, JSON.stringify({ job: work.job, view: work.view, ticks: work.ticks, by: ME }));
    localStorage.setItem("templater:printers", JSON.stringify(printers));
    work.kept = true;
  } catch {
    work.kept = false;
  }
}

export function returned() {
  try {
    work.job = { ...EMPTY, ...(given ?? {}) };
    const found = JSON.parse(localStorage.getItem(PLACE) ?? "null");
    if (found?.job?.text) Object.assign(work, { job: { ...EMPTY, ...found.job }, view: found.view ?? "boat", ticks: found.ticks ?? {} });
    work.job.printers = { ...JSON.parse(localStorage.getItem("templater:printers") ?? "{}"), ...work.job.printers };
  } catch {
    work.kept = false;
  }
  window.addEventListener("storage", (event) => {
    if (event.key !== PLACE || !event.newValue) return;
    const found = JSON.parse(event.newValue);
    if (found.by === ME || found.job.text === work.job.text && found.job.readings === work.job.readings) return;
    work.other = found.job;
    draw();
  });
}

export function settle(theirs) {
  if (theirs) changed({ ...work.job, ...work.other });
  work.other = null;
  keep();
  refresh();
}

function changed(job, mark = "") {
  const last = work.undo[work.undo.length - 1];
  if (!mark || last?.mark !== mark) work.undo.push({ job: work.job, mark });
  if (work.undo.length > 300) work.undo.shift();
  work.redo = [];
  work.job = job;
}

export function take(part, mark) {
  changed({ ...work.job, ...part }, mark);
  keep();
  return refresh();
}

export function back(from, to) {
  const step = work[from].pop();
  if (!step) return;
  work[to].push({ job: work.job, mark: "" });
  work.job = step.job;
  keep();
  refresh();
}

// Changes of fields are put into the text by Python, in the order in which they were typed.
let line = Promise.resolve();
export function edit(changes, which = "text") {
  line = line.then(async () => {
    const answer = await asked("edit", { text: work.job[which], changes });
    if (answer) await take({ [which]: answer.text }, `${which} ${changes[0][0]}`);
  });
  return line;
}

export async function asked(name, question = {}, files = {}, busy = "") {
  work.busy = busy;
  if (busy) draw();
  try {
    const answer = await ask(name, { job: work.job, ...question }, files);
    if (!answer.faults) return answer;
    work.notice = answer.faults.map((one) => (one.line ? `line ${one.line}: ` : "") + one.text).join("\n");
  } catch (fault) {
    work.notice = fault.message === "stopped" ? "stopped; your texts are as they were" : `the program failed: ${fault.message.slice(-400)}`;
  } finally {
    work.busy = "";
  }
  draw();
  return null;
}

let running = false, again = false;
export async function refresh() {
  draw();
  if (running) { again = true; return; }
  running = true;
  do {
    again = false;
    if (!work.job.text) break;
    const began = performance.now();
    const look = await ask("look", { job: work.job }).catch(() => null);
    if (look) {
      if (!look.pictures) Object.assign(look, { pictures: work.look.pictures, old: true });
      work.look = look;
      work.sheets = work.view === "sheets" && !look.old ? await ask("sheets", { job: work.job }).catch(() => null) : null;
      document.documentElement.dataset.time = String(Math.round(performance.now() - began));
    }
    draw();
  } while (again);
  running = false;
}

export async function open(file) {
  const answer = await asked("open", {}, { [file.name]: new Uint8Array(await file.arrayBuffer()) }, "opening");
  if (!answer) return null;
  const { printers } = work.job;
  if (answer.kind === "readings") await take(answer.job);
  else await take({ ...EMPTY, ...answer.job, printers });
  work.notice = `${file.name}: opened`;
  draw();
  return answer;
}

export function save(name, data, type = "application/octet-stream") {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([data], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// The page as it was loaded, with this boat in it. The copy is put together here: nothing is sent anywhere.
const SHELL = document.documentElement.outerHTML;
export function copyWithBoat() {
  const { text, file, bases, readings } = work.job;
  const bytes = new TextEncoder().encode(JSON.stringify({ text, file, bases, readings }));
  const packed = btoa(Array.from(bytes, (byte) => String.fromCharCode(byte)).join(""));
  const at = SHELL.indexOf('id="job">') + 9;
  const end = SHELL.indexOf("</script>", at);
  return `<!doctype html>\n${SHELL.slice(0, at)}${packed}${SHELL.slice(end)}`;
}
