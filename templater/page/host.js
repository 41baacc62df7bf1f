// Starts the program's Python and answers questions with it. The same code runs in the worker and, where an engine
// refuses a worker from a file, in the page itself. Nothing is fetched: every part is handed over, base64 text of the
// page or bytes of a hosted folder, gzip both.

export async function startPython(packed, say) {
  const here = "https://here.invalid/";
  const types = { wasm: "application/wasm", mjs: "text/javascript" };
  const outside = self.fetch;
  const bytes = (text) => Uint8Array.fromBase64?.(text) ?? Uint8Array.from(atob(text), (one) => one.charCodeAt(0));
  const unpacked = (name) => {
    const part = packed[name];
    const stream = new Blob([typeof part === "string" ? bytes(part) : part]).stream();
    const headers = { "Content-Type": types[name.split(".").pop()] ?? "application/octet-stream" };
    return new Response(stream.pipeThrough(new DecompressionStream("gzip")), { headers });
  };
  // A module from a data address is taken by every engine; one from a blob is not, in a worker of a file.
  const module = async (name) => {
    const reader = new FileReader();
    reader.readAsDataURL(await unpacked(name).blob());
    await new Promise((done) => { reader.onload = done; });
    return import(reader.result);
  };
  say("starting Python");
  const [{ loadPyodide }, { default: create }] = await Promise.all([module("pyodide.mjs"), module("pyodide.asm.mjs")]);
  self.fetch = async (address) => {
    const name = String(address.url ?? address).replace(here, "");
    if (!(name in packed)) throw new TypeError("no network here");
    return unpacked(name);
  };
  try {
    const python = await loadPyodide({
      indexURL: here,
      createPyodideModule: create,
      lockFileContents: LOCK,
      env: { HOME: "/home" },
    });
    say("reading the program");
    python.unpackArchive(await unpacked("program.zip").arrayBuffer(), "zip", { extractDir: "/lib/templater" });
    python.runPython('import sys; sys.path.insert(0, "/lib/templater")');
    const engine = python.pyimport("templater.page.engine");
    return (name, question, files = {}) => {
      const given = python.toPy(files);
      const answer = engine.call(name, JSON.stringify(question), given);
      const [text, made] = answer;
      const out = {};
      for (const file of made) {
        const view = made.get(file);
        out[file] = view.toJs();
        view.destroy?.();
      }
      for (const proxy of [made, answer, given]) proxy.destroy();
      return { ...JSON.parse(text), files: out };
    };
  } finally {
    self.fetch = outside;
  }
}
