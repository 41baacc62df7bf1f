// Runs pack.py in the page's own Python, since only that compiles what it can read: node pack.mjs PYODIDE FOLDER PACK.PY
import { readFileSync } from "node:fs";
import { resolve } from "node:path";
import { pathToFileURL } from "node:url";

const [from, folder, script] = process.argv.slice(2).map((one) => resolve(one));
const { loadPyodide } = await import(pathToFileURL(`${from}/pyodide.mjs`));
const python = await loadPyodide({ indexURL: `${from}/`, env: { PYTHONNODEBUGRANGES: "1" } });
python.FS.mkdirTree("/work");
python.mountNodeFS("/work", folder);
python.runPython(`import sys; sys.argv = ["pack.py", "/work"]`);
python.runPython(readFileSync(script, "utf8"), { filename: "pack.py" });
