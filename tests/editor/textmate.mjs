// Colours every dial of the repository with grammar/dial.tmLanguage.json, as editors do, and compares each word with
// what the language server says it is. Usage: node textmate.mjs PROGRAM, from anywhere.

import { spawn } from "node:child_process";
import { readFileSync, readdirSync } from "node:fs";
import { dirname, join, resolve } from "node:path";
import { fileURLToPath, pathToFileURL } from "node:url";
import oniguruma from "vscode-oniguruma";
import textmate from "vscode-textmate";

const here = dirname(fileURLToPath(import.meta.url));
const root = resolve(here, "../..");
const program = resolve(process.argv[2] ?? join(root, "target/debug/dialwright"));
const folders = ["examples", "examples/saltmarsh", "tests/dials"];

// ---------------------------------------------------------------- the grammar, run by the library that editors use

const wasm = readFileSync(join(here, "node_modules/vscode-oniguruma/release/onig.wasm"));
await oniguruma.loadWASM(wasm.buffer.slice(wasm.byteOffset, wasm.byteOffset + wasm.byteLength));
const registry = new textmate.Registry({
  onigLib: Promise.resolve({
    createOnigScanner: (patterns) => new oniguruma.OnigScanner(patterns),
    createOnigString: (text) => new oniguruma.OnigString(text),
  }),
  loadGrammar: async () => {
    const path = join(root, "grammar/dial.tmLanguage.json");
    return textmate.parseRawGrammar(readFileSync(path, "utf8"), path);
  },
});
const grammar = await registry.loadGrammar("source.dial");

// What each scope means in the server's words; the first that fits the innermost scope counts.
const meanings = [
  ["comment", "comment"], ["meta.embedded", "name"], ["string", "string"], ["constant.character", "string"], ["constant.numeric", "number"],
  ["keyword.other.unit", "number"], ["constant.other.colour", "number"], ["keyword.operator", "operator"],
  ["keyword", "keyword"], ["support.type.property-name", "property"], ["support.type", "type"],
  ["constant.language", "enumMember"], ["support.function", "function"], ["entity.name.function", "function"],
  ["variable.parameter", "argument"], ["invalid", "invalid"],
];

function meaning(scopes) {
  for (const scope of [...scopes].reverse()) {
    const known = meanings.find(([prefix]) => scope.startsWith(prefix));
    if (known) return known[1];
  }
  return "name";
}

// For each line, the meaning of each column.
function coloured(text) {
  let state = textmate.INITIAL;
  return text.split("\n").map((line) => {
    const result = grammar.tokenizeLine(line, state);
    state = result.ruleStack;
    const columns = Array(line.length).fill("name");
    for (const token of result.tokens) columns.fill(meaning(token.scopes), token.startIndex, token.endIndex);
    return columns;
  });
}

// ---------------------------------------------------------------- the language server

const server = spawn(program, ["serve-editor"], { stdio: ["pipe", "pipe", "inherit"] });
const waiting = new Map();
let received = Buffer.alloc(0);
server.stdout.on("data", (bytes) => {
  received = Buffer.concat([received, bytes]);
  for (;;) {
    const head = received.indexOf("\r\n\r\n");
    if (head < 0) return;
    const length = Number(/Content-Length: (\d+)/.exec(received.subarray(0, head).toString())[1]);
    if (received.length < head + 4 + length) return;
    const message = JSON.parse(received.subarray(head + 4, head + 4 + length).toString());
    received = received.subarray(head + 4 + length);
    waiting.get(message.id)?.(message);
  }
});
const send = (message) => {
  const text = JSON.stringify({ jsonrpc: "2.0", ...message });
  server.stdin.write(`Content-Length: ${Buffer.byteLength(text)}\r\n\r\n${text}`);
};
let last = 0;
const ask = (method, params) => {
  const id = (last += 1);
  send({ id, method, params });
  return new Promise((done, fail) => {
    waiting.set(id, (message) => (message.error ? fail(new Error(message.error.message)) : done(message.result)));
  });
};
const told = await ask("initialize", { processId: null, rootUri: null, capabilities: {} });
const legend = told.capabilities.semanticTokensProvider.legend.tokenTypes;

async function meant(path, text) {
  const uri = pathToFileURL(path).href;
  send({ method: "textDocument/didOpen", params: { textDocument: { uri, languageId: "dial", version: 1, text } } });
  const { data } = await ask("textDocument/semanticTokens/full", { textDocument: { uri } });
  const tokens = [];
  let [line, column] = [0, 0];
  for (let at = 0; at < data.length; at += 5) {
    column = data[at] === 0 ? column + data[at + 1] : data[at + 1];
    line += data[at];
    tokens.push({ line, column, length: data[at + 2], kind: legend[data[at + 3]] });
  }
  return tokens;
}

// ---------------------------------------------------------------- both, word by word

// What the grammar may say of a word that the server knows to be this. Which name is a layer and which a param needs
// more than one line at a time, so that names are all alike to the grammar; a word before a colon is an argument.
const allowed = {
  class: ["name"], struct: ["name"], enum: ["name"], variable: ["name", "argument"], parameter: ["name", "argument"],
  // The braces of a value in a text belong to the text for one, and to the value for the other.
  string: ["string", "name"],
  property: ["property", "argument"], enumMember: ["enumMember", "name"], function: ["function", "name"],
};

let words = 0;
const wrong = [];
for (const folder of folders) {
  for (const file of readdirSync(join(root, folder)).filter((name) => name.endsWith(".dial")).sort()) {
    const path = join(root, folder, file);
    const text = readFileSync(path, "utf8").replaceAll("\r\n", "\n");
    const [colours, tokens] = [coloured(text), await meant(path, text)];
    const lines = text.split("\n");
    for (const { line, column, length, kind } of tokens) {
      words += 1;
      const found = new Set(colours[line].slice(column, column + length));
      const fits = [...found].every((one) => (allowed[kind] ?? [kind]).includes(one));
      if (!fits) {
        const word = lines[line].slice(column, column + length);
        wrong.push(`${folder}/${file}:${line + 1}:${column + 1} \`${word}\` is ${kind}, coloured as ${[...found]}`);
      }
      colours[line].fill("seen", column, column + length);
    }
    colours.forEach((columns, line) => {
      const at = columns.findIndex((one, at) => one !== "seen" && one !== "name" && lines[line][at].trim() !== "");
      if (at >= 0) wrong.push(`${folder}/${file}:${line + 1}:${at + 1} is nothing, coloured as ${columns[at]}`);
    });
  }
}
await ask("shutdown", null);
send({ method: "exit" });
console.log(`${words} words compared, ${wrong.length} coloured otherwise than they are`);
wrong.forEach((one) => console.log(one));
process.exit(wrong.length === 0 && words > 2000 ? 0 : 1);
