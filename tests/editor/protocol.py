#!/usr/bin/env python3
"""Talks to the language server and has every message that it sends read by lsprotocol, which is made from the published
metamodel of the protocol (3.17): read into its types and written anew, a message must come out as it went in, so that no
field is unknown, missing or of another type. Positions asked for are all those of two designs, one sound and one at fault.

Needs lsprotocol (tests/requirements.txt). Use: tests/editor/protocol.py PROGRAM
"""

import json
import pathlib
import subprocess
import sys
import tempfile

from lsprotocol import converters, types

ROOT = pathlib.Path(__file__).resolve().parents[2]
READS = converters.get_converter()
# Asked at every word of a file; those of a whole file are asked once.
AT_PLACES = ["hover", "completion", "definition", "references", "prepareRename", "rename"]
OF_FILES = ["documentSymbol", "foldingRange", "semanticTokens/full", "documentColor", "formatting"]
OF_RANGES = ["codeAction", "semanticTokens/range", "inlayHint", "colorPresentation"]
# What an editor says that can do all that the server asks about.
ABILITIES = {
    "general": {"markdown": {"parser": "marked"}},
    "workspace": {"workspaceEdit": {"documentChanges": True}, "didChangeWatchedFiles": {"dynamicRegistration": True}},
    "textDocument": {
        "completion": {"completionItem": {"snippetSupport": True}},
        "codeAction": {"codeActionLiteralSupport": {"codeActionKind": {"valueSet": ["quickfix", "source.fixAll"]}}},
    },
    "window": {"workDoneProgress": True},
}


def bare(value):
    """A message without what is null, which means the same as left out."""
    if isinstance(value, dict):
        return {key: bare(one) for key, one in value.items() if one is not None}
    return [bare(one) for one in value] if isinstance(value, list) else value


class Session:
    """One server, its messages held to the protocol as they come."""

    def __init__(self, program):
        command = [program, "serve-editor"]
        self.server = subprocess.Popen(command, stdin=subprocess.PIPE, stdout=subprocess.PIPE)
        self.number, self.read, self.seen = 0, 0, set()

    def send(self, **message):
        text = json.dumps({"jsonrpc": "2.0", **message}).encode()
        self.server.stdin.write(b"Content-Length: %d\r\n\r\n" % len(text) + text)
        self.server.stdin.flush()

    def receive(self):
        length = 0
        while (line := self.server.stdout.readline().strip()) != b"":
            name, value = line.split(b":")
            length = int(value) if name.lower() == b"content-length" else length
        assert length, "the server is gone"
        return json.loads(self.server.stdout.read(length))

    def hold(self, message, kind):
        """That a message is of a kind of the protocol, and nothing more."""
        again = READS.unstructure(READS.structure(message, kind))
        assert bare(again) == bare(message), f"{kind.__name__}: {message}\nis read as {again}"
        self.read += 1
        self.seen.add(kind.__name__)

    def ask(self, method, **params):
        """The result of a request."""
        self.number += 1
        self.send(id=self.number, method=method, params=params)
        while True:
            message = self.receive()
            if "method" in message:
                self.hold(message, types.METHOD_TO_TYPES[message["method"]][0])
                if "id" in message:
                    self.send(id=message["id"], result=None)
            elif "error" in message:
                self.hold(message, types.ResponseErrorMessage)
                return None
            else:
                assert message["id"] == self.number, message
                self.hold(message, types.METHOD_TO_TYPES[method][1])
                return message.get("result")


def words(text):
    """Where every word begins, as the protocol counts."""
    for number, line in enumerate(text.splitlines()):
        for at, letter in enumerate(line):
            if not letter.isspace() and (at == 0 or line[at - 1] in " (,.{"):
                yield {"line": number, "character": at}


def ask_all(session, uri, text):
    document = {"uri": uri}
    session.send(
        method="textDocument/didOpen",
        params={"textDocument": {"uri": uri, "languageId": "dial", "version": 1, "text": text}},
    )
    whole = {"start": {"line": 0, "character": 0}, "end": {"line": len(text.splitlines()), "character": 0}}
    for name in OF_FILES:
        options = {"options": {"tabSize": 2, "insertSpaces": True}} if name == "formatting" else {}
        session.ask(f"textDocument/{name}", textDocument=document, **options)
    for name in OF_RANGES:
        more = {"codeAction": {"context": {"diagnostics": []}}, "colorPresentation": {
            "color": {"red": 0.5, "green": 0.25, "blue": 0.0, "alpha": 1.0}}}
        session.ask(f"textDocument/{name}", textDocument=document, range=whole, **more.get(name, {}))
    for place in words(text):
        for name in AT_PLACES:
            more = {"references": {"context": {"includeDeclaration": True}}, "rename": {"newName": "other_name"}}
            session.ask(f"textDocument/{name}", textDocument=document, position=place, **more.get(name, {}))


def main():
    session = Session(sys.argv[1])
    with tempfile.TemporaryDirectory() as folder:
        folder = pathlib.Path(folder)
        said = session.ask("initialize", processId=None, rootUri=folder.as_uri(), capabilities=ABILITIES)
        session.send(method="initialized", params={})
        (folder / "shop.dial").write_text((ROOT / "examples/saltmarsh/shop.dial").read_text())
        sound = (ROOT / "examples/saltmarsh/crew.dial").read_text()
        for name, text in [("sound.dial", sound), ("faulty.dial", (ROOT / "tests/ui/many-faults.dial").read_text())]:
            (folder / name).write_text(text)
            ask_all(session, (folder / name).as_uri(), text)
        session.ask("shutdown")
        session.send(method="exit")
        assert session.server.wait(20) == 0
    asked = {f"textDocument/{name}" for name in AT_PLACES + OF_FILES + OF_RANGES}
    answers = {types.METHOD_TO_TYPES[name][1].__name__ for name in asked}
    assert answers <= session.seen, f"not answered: {answers - session.seen}"
    assert types.METHOD_TO_TYPES["textDocument/publishDiagnostics"][0].__name__ in session.seen, session.seen
    # Whatever it says that it can do is asked for here.
    for offered in (name for name in said["capabilities"] if name.endswith("Provider")):
        word = offered.removesuffix("Provider").removeprefix("document").lower()
        assert any(word in name.lower() for name in asked), f"nobody asks for {offered}"
    print(f"{session.read} messages of {len(session.seen)} kinds are as the protocol has them")


main()
