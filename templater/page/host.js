// Starts the program's Python and answers questions with it. The same code runs in the worker and, where an engine
// refuses a worker from a file, in the page itself. Nothing is fetched: every part is handed over.

export async function startPython(parts, say) {
  say("starting Python");
  const here = "https://here.invalid/";
  const kinds = { wasm: "application/wasm", mjs: "text/javascript", json: "application/json" };
  const outside = self.fetch;
  const inside = (address) => {
    const name = String(address.url ?? address).replace(here, "");
    if (!(name in parts)) throw new TypeError("no network here");
    const type = kinds[name.split(".").pop()] ?? "application/octet-stream";
    return Promise.resolve(new Response(parts[name], { status: 200, headers: { "Content-Type": type } }));
  };
  self.fetch = inside;
  try {
    const module = async (name) => {
      const address = URL.createObjectURL(new Blob([parts[name]], { type: kinds.mjs }));
      try { return await import(address); } finally { URL.revokeObjectURL(address); }
    };
    const { loadPyodide } = await module("pyodide.mjs");
    const { default: create } = await module("pyodide.asm.mjs");
    const python = await loadPyodide({
      indexURL: here,
      createPyodideModule: create,
      lockFileContents: new TextDecoder().decode(parts["pyodide-lock.json"]),
      env: { PYDANTIC_DISABLE_PLUGINS: "__all__", HOME: "/home", SOURCE_DATE_EPOCH: "" },
    });
    say("reading the program");
    python.unpackArchive(parts["program.zip"], "zip", { extractDir: "/lib/templater" });
    python.runPython('import os, sys; sys.path.insert(0, "/lib/templater"); os.environ.pop("SOURCE_DATE_EPOCH", None)');
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
