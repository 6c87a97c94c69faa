//! How a session goes: introduction, orders, malformed messages, leave.

use lsp_types::PositionEncodingKind;
use serde_json::{Value, json};

use super::driver::Editor;

const SOUND: &str = include_str!("../../../examples/first.dial");

#[test]
fn a_session_ends_as_the_protocol_says() {
    // "the server should exit with code 0 if the shutdown request has been received before; otherwise with error code
    // 1" (specification 3.17, Exit Notification).
    let editor = Editor::with(&[("first.dial", SOUND)]);
    assert_eq!(editor.leave().code(), Some(0));
    let mut editor = Editor::with(&[("first.dial", SOUND)]);
    editor.note("exit", Value::Null);
    assert_eq!(editor.ended().code(), Some(1));
    assert_eq!(Editor::with(&[]).vanish().code(), Some(2), "the stream ended without a word");
}

#[test]
fn columns_are_counted_as_the_editor_offers() {
    let encoding = |abilities| Editor::with_abilities(&[], abilities).told.capabilities.position_encoding.clone();
    assert_eq!(encoding(json!({})), Some(PositionEncodingKind::UTF16));
    let offered = json!({ "general": { "positionEncodings": ["utf-32", "utf-8", "utf-16"] } });
    assert_eq!(encoding(offered), Some(PositionEncodingKind::UTF8));
}

#[test]
fn what_cannot_be_read_is_answered_and_the_session_goes_on() {
    let mut editor = Editor::with(&[("first.dial", SOUND)]);
    let code = |editor: &mut Editor| {
        let answer = editor.response();
        (answer["id"].clone(), answer["error"]["code"].as_i64())
    };
    // JSON-RPC 2.0, section 5.1: -32700 parse error, -32600 invalid request, -32601 no such method, -32602 parameters.
    editor.raw(b"Content-Length: 7\r\n\r\n{\"id\": ");
    assert_eq!(code(&mut editor), (Value::Null, Some(-32700)));
    editor.raw(b"no header at all\r\n\r\n");
    assert_eq!(code(&mut editor), (Value::Null, Some(-32700)));
    editor.raw(b"Content-Length: many\r\n\r\n");
    assert_eq!(code(&mut editor), (Value::Null, Some(-32700)));
    editor.raw(b"Content-Length: 3\r\n\r\n\xff\xff\xff");
    assert_eq!(code(&mut editor), (Value::Null, Some(-32700)));
    editor.send(&json!([1, 2]));
    assert_eq!(code(&mut editor), (Value::Null, Some(-32600)));
    editor.send(&json!({ "jsonrpc": "2.0", "id": 7, "method": 5 }));
    assert_eq!(code(&mut editor), (json!(7), Some(-32600)));
    editor.send(&json!({ "jsonrpc": "2.0", "id": "x", "method": "textDocument/unheardOf", "params": {} }));
    assert_eq!(code(&mut editor), (json!("x"), Some(-32601)));
    editor.send(&json!({ "jsonrpc": "2.0", "id": 8, "method": "textDocument/hover", "params": { "position": 4 } }));
    assert_eq!(code(&mut editor), (json!(8), Some(-32602)));
    editor.note("textDocument/didChange", json!({ "nothing": "right" }));
    editor.note("$/somethingNew", json!(null));
    let unopened = json!({ "textDocument": { "uri": "file:///nowhere.dial" } });
    assert_eq!(editor.ask("textDocument/documentSymbol", unopened).unwrap_err().0, -32602);
    editor.open("first.dial");
    let uri = editor.uri("first.dial");
    assert!(editor.ask("textDocument/documentSymbol", json!({ "textDocument": { "uri": uri } })).is_ok());
    assert_eq!(editor.leave().code(), Some(0));
}

#[test]
fn order_is_kept() {
    let mut editor = Editor::with(&[]);
    // Specification 3.17: a second `initialize` is invalid; after `shutdown` every request is.
    assert_eq!(editor.ask("initialize", json!({ "capabilities": {} })).unwrap_err().0, -32600);
    editor.ask("shutdown", Value::Null).unwrap();
    assert_eq!(editor.ask("textDocument/hover", json!({})).unwrap_err().0, -32600);
    editor.note("exit", Value::Null);
    assert_eq!(editor.ended().code(), Some(0));
}
