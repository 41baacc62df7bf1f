// The builder's work: texts, what Python last said of them, undo, and keeping it all in the browser at once.

const EMPTY = { text: "", file: "boat.yaml", bases: {}, readings: "", printers: {} };
const UNSEEN = { values: null, findings: [], pictures: [] };
export const work = {
  job: { ...EMPTY }, look: UNSEEN, sheets: null, view: "boat", key: "", busy: "", notice: "", kept: true, other: null,
  ticks: {}, undo: [], redo: [], handle: null, saved: "", drawn: () => {},
};
const given = (() => {
  const inside = document.getElementById("job").textContent.trim();
  if (!inside) return null;
  const bytes = Uint8Array.from(atob(inside), (letter) => letter.charCodeAt(0));
  return { ...EMPTY, ...JSON.parse(new TextDecoder().decode(bytes)) };
})();
// Copies with different boats keep their work apart, even where a browser takes all files for one place.
const sum = (text) => [...text].reduce((all, letter) => (all * 31 + letter.codePointAt(0)) >>> 0, 7);
const PLACE = `templater:${given ? sum(given.text) : "own"}`;
const PRINTERS = "templater:printers";
const ME = Math.random().toString(36).slice(2);
let stamp = null, writes = 0;

export function draw() { work.drawn(); }

// What is kept may be of another window meanwhile: nothing is written over it before the builder has chosen.
function meet(there) {
  const same = there.job.text === work.job.text && there.job.readings === work.job.readings;
  if (same || there.stamp === stamp) stamp = there.stamp;
  else work.other = there;
}

export function keep() {
  if (work.other) return;
  try {
    const there = JSON.parse(localStorage.getItem(PLACE) ?? "null");
    if (there) meet(there);
    if (work.other) return;
    const { job, view, ticks } = work, now = `${ME} ${++writes}`;
    localStorage.setItem(PLACE, JSON.stringify({ job, view, ticks, stamp: now }));
    stamp = now;
    localStorage.setItem(PRINTERS, JSON.stringify(job.printers));
    work.kept = true;
  } catch {
    work.kept = false;
  }
}

// What is in a box and not yet in the text: put there after a reload in the middle of it.
export function typing(key, value) {
  try {
    localStorage.setItem(`${PLACE}:typing`, key ? JSON.stringify([key, value]) : "");
  } catch {
    work.kept = false;
  }
}

export async function finishTyping() {
  const [key, value] = JSON.parse(localStorage.getItem(`${PLACE}:typing`) || "[]");
  if (key && value) await edit([[key, value]]);
}

export function returned() {
  work.job = { ...EMPTY, ...given };
  try {
    const found = JSON.parse(localStorage.getItem(PLACE) ?? "null");
    if (found?.job) {
      Object.assign(work, { job: { ...EMPTY, ...found.job }, view: found.view ?? "boat", ticks: found.ticks ?? {} });
      stamp = found.stamp;
    }
    work.job.printers = { ...JSON.parse(localStorage.getItem(PRINTERS) ?? "{}"), ...work.job.printers };
    localStorage.setItem("templater:", "");  // what is forbidden is known before anything is lost
  } catch {
    work.kept = false;
  }
  window.addEventListener("storage", (event) => {
    if (event.key !== PLACE || !event.newValue) return;
    meet(JSON.parse(event.newValue));
    draw();
  });
}

export function settle(theirs) {
  const there = work.other;
  work.other = null;
  stamp = there.stamp;
  if (theirs) change({ ...work.job, ...there.job });
  keep();
  return refresh();
}

function change(job, mark = "") {
  const last = work.undo.at(-1);
  if (!mark || last?.mark !== mark) work.undo.push({ job: work.job, mark });
  if (work.undo.length > 300) work.undo.shift();
  work.redo = [];
  work.job = job;
}

export function take(part, mark) {
  change({ ...work.job, ...part }, mark);
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
    typing("");
    if (answer) await take({ [which]: answer.text }, `${which} ${changes[0][0]}`);
  });
  return line;
}

const inWords = (faults) => faults.map((one) => (one.line ? `line ${one.line}: ` : "") + one.text).join("\n");

export async function asked(name, question = {}, files = {}, busy = "") {
  work.busy = busy;
  if (busy) draw();
  try {
    const answer = await ask(name, { job: work.job, ...question }, files);
    if (!answer.faults) return answer;
    work.notice = inWords(answer.faults);
  } catch (fault) {
    const stopped = fault.message === "stopped";
    work.notice = stopped ? "Stopped; your texts are as they were." : `the program failed: ${fault.message.slice(-400)}`;
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
    if (!work.job.text) { work.look = UNSEEN; break; }
    const slow = setTimeout(() => { work.busy = "looking at the boat"; draw(); }, 2000);
    await lookAt();
    clearTimeout(slow);
    work.busy = "";
    draw();
  } while (again);
  running = false;
}

// Pictures first; what seams do to the boat's sheets, and the sheets themselves, as soon as nothing else is asked.
async function lookAt() {
  const began = performance.now();
  const look = await asked("look");
  if (!look) return;
  const { pictures } = work.look;
  const sound = look.pictures && !look.findings.some((one) => one.severity === "error");
  work.look = { pictures, old: !look.pictures && pictures.length > 0, open: sound, ...look };
  if (!sound) work.sheets = null;
  draw();
  document.documentElement.dataset.time = String(Math.round(performance.now() - began));
  if (!sound || again) return;
  const found = await asked("sheets", { drawn: work.view === "sheets" });
  if (again) return;
  work.look.open = false;
  if (!found) return;
  work.look.findings = found.findings;
  if (work.view === "sheets") work.sheets = found.sheets;
}

export async function open(file, handle = null) {
  const data = new Uint8Array(await file.arrayBuffer());
  const answer = await asked("open", {}, { [file.name]: data }, "opening");
  if (!answer) return;
  const { printers } = work.job;
  if (answer.kind === "boat") Object.assign(work, { handle: /\.ya?ml$/.test(file.name) ? handle : null, look: UNSEEN });
  work.notice = `${file.name}: opened`;
  await take(answer.kind === "readings" ? answer.job : { ...EMPTY, ...answer.job, printers });
}

export function save(name, data, type = "application/octet-stream") {
  const link = document.createElement("a");
  link.href = URL.createObjectURL(new Blob([data], { type }));
  link.download = name;
  link.click();
  setTimeout(() => URL.revokeObjectURL(link.href), 60000);
}

// The description is saved in place where the browser can, once the builder has said where; else as a download.
export async function saveText() {
  const { text, file } = work.job;
  if (!window.showSaveFilePicker) return save(file, text, "text/yaml");
  try {
    const types = [{ description: "Description of a boat", accept: { "text/yaml": [".yaml", ".yml"] } }];
    work.handle ??= await window.showSaveFilePicker({ suggestedName: file, types });
    const stream = await work.handle.createWritable();
    await stream.write(text);
    await stream.close();
    Object.assign(work, { saved: text, notice: `saved in ${work.handle.name}` });
  } catch (fault) {
    if (fault.name === "AbortError") return undefined;
    Object.assign(work, { handle: null, notice: `not saved in place (${fault.message}): saved as a download` });
    save(file, text, "text/yaml");
  }
  return draw();
}

// The page as it was loaded, with this boat in it. The copy is put together here: nothing is sent anywhere.
const SHELL = document.documentElement.outerHTML;
const OPENING = 'id="job">';
export async function copyWithBoat() {
  const { text, file, bases, readings } = work.job;
  const bytes = new TextEncoder().encode(JSON.stringify({ text, file, bases, readings }));
  const base64 = (data) => btoa(Array.from(data, (byte) => String.fromCharCode(byte)).join(""));
  let shell = SHELL;
  if (document.querySelector("script[data-at]")) {  // a hosted folder: its parts go into the one file
    for (const [name, data] of Object.entries(await partsOf(document))) {
      const tag = `<script type="text/plain" data-part="${name}"`;
      shell = shell.replace(new RegExp(`${tag}[^>]*>`), () => `${tag}>${base64(new Uint8Array(data))}`);
    }
    shell = shell.replace(/<link rel="manifest"[^>]*>/, "");
  }
  const at = shell.indexOf(OPENING) + OPENING.length;
  return `<!doctype html>\n${shell.slice(0, at)}${base64(bytes)}${shell.slice(shell.indexOf("</script>", at))}`;
}
