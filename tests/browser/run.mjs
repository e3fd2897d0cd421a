// Runs in Node: loads Pyodide, mounts a folder of packages, answers a file of custom function calls into another.
import { readFileSync, writeFileSync } from "node:fs";
import { pathToFileURL } from "node:url";

const [pyodide, packages, program, callsFile, answersFile] = process.argv.slice(2);
const { loadPyodide } = await import(pathToFileURL(pyodide).href);
const python = await loadPyodide();
python.mountNodeFS("/packages", packages);
python.globals.set("calls_from_excel", JSON.parse(readFileSync(callsFile, "utf8")));
writeFileSync(answersFile, await python.runPythonAsync(readFileSync(program, "utf8")));
