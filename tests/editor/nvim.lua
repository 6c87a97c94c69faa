-- Neovim as a real client, without a screen, set up by the lines of `grammar/EDITORS.md`:
-- `nvim --headless --clean -c 'luafile tests/editor/nvim.lua'` with the program's folder first in PATH. (`-l` is newer
-- than Debian 12's Neovim 0.7.2.) It says what it saw, and leaves with 1 where something is not as it should be.

local root = vim.fn.fnamemodify(debug.getinfo(1, "S").source:sub(2), ":p:h:h:h")
local folder = vim.fn.tempname()
vim.fn.mkdir(folder, "p")
local function copy(name)
  vim.fn.writefile(vim.fn.readfile(root .. "/examples/saltmarsh/" .. name), folder .. "/" .. name)
end
copy("crew.dial")
copy("shop.dial")

local failed = 0
local function check(what, holds, seen)
  if holds then
    print("ok       " .. what)
  else
    failed = failed + 1
    print("NOT OK   " .. what .. ": " .. vim.inspect(seen))
  end
end

local function main()
  local page = table.concat(vim.fn.readfile(root .. "/grammar/EDITORS.md"), "\n")
  assert(loadstring(page:match("```lua\n(.-)```")))()
  vim.cmd("cd " .. folder)
  vim.cmd("edit crew.dial")
  local buffer = vim.api.nvim_get_current_buf()
  check("the file is a dial", vim.bo.filetype == "dial", vim.bo.filetype)
  local client
  local function attached()
    for _, one in pairs(vim.lsp.buf_get_clients(buffer)) do client = one end
    return client and client.initialized
  end
  check("the client starts", vim.wait(20000, attached, 20), vim.lsp.get_log_path())

  local original = vim.api.nvim_buf_get_lines(buffer, 0, -1, true)
  local function text() return table.concat(vim.api.nvim_buf_get_lines(buffer, 0, -1, true), "\n") .. "\n" end
  local function line_with(needle)
    for number, line in ipairs(vim.api.nvim_buf_get_lines(buffer, 0, -1, true)) do
      local column = line:find(needle, 1, true)
      if column then return number - 1, column - 1 end
    end
    error("no " .. needle)
  end
  local function at(needle, past)
    local line, column = line_with(needle)
    local document = { uri = vim.uri_from_bufnr(buffer) }
    return { textDocument = document, position = { line = line, character = column + (past or 0) } }
  end
  local function ask(method, parameters)
    local answer, problem = client.request_sync(method, parameters, 20000, buffer)
    if not answer then error(method .. ": " .. tostring(problem)) end
    return answer.result, answer.err
  end
  local function errors()
    return vim.diagnostic.get(buffer, { severity = vim.diagnostic.severity.ERROR })
  end

  -- Findings, as Neovim itself shows them.
  local line, column = line_with("across  // how far")
  vim.api.nvim_buf_set_text(buffer, line, column, line, column + 6, { "acros" })
  check("a slip is shown", vim.wait(20000, function() return #errors() == 1 end, 20), errors())
  local found = errors()[1]
  check("with its place and name", found and found.lnum == line and found.col == column and found.code == "unknown-name", found)

  -- The mend of it, applied by Neovim.
  local actions = ask("textDocument/codeAction", {
    textDocument = { uri = vim.uri_from_bufnr(buffer) },
    range = { start = { line = line, character = column }, ["end"] = { line = line, character = column + 5 } },
    context = { diagnostics = vim.lsp.diagnostic.get_line_diagnostics(buffer, line) },
  })
  check("a mend is offered", actions and actions[1] and actions[1].title == "Write `across` for `acros`", actions)
  vim.lsp.util.apply_workspace_edit(actions[1].edit, client.offset_encoding)
  check("and mends it", table.concat(original, "\n") .. "\n" == text(), text())
  check("the finding goes", vim.wait(20000, function() return #errors() == 0 end, 20), errors())

  -- Hover.
  local hover = ask("textDocument/hover", at("radius out", 8))
  check("hover tells kind and value", hover and hover.contents.value:find("19.8mm", 1, true)
    and hover.contents.value:find("a length", 1, true), hover)

  -- Completion: what Neovim would put into its menu.
  local offered = ask("textDocument/completion", at("magnets(disc)", 8))
  local words = vim.lsp.util.text_document_completion_list_to_complete_items(offered, "")
  check("completion offers the magnet", words[1] and words[1].word == "disc", words)

  -- Renaming, in this file and in the shop's, which is not open yet.
  local renamed = ask("textDocument/rename", vim.tbl_extend("error", at("magnets(disc)", 9), { newName = "button" }))
  vim.lsp.util.apply_workspace_edit(renamed, client.offset_encoding)
  check("renaming reaches this file", text():find("magnets(button)", 1, true), text())
  local shop = vim.fn.bufnr(folder .. "/shop.dial")
  local shared = shop > 0 and table.concat(vim.api.nvim_buf_get_lines(shop, 0, -1, true), "\n") or ""
  check("and the file that defines the name", shared:find("magnet button {", 1, true), shared)
  local _, refused = ask("textDocument/rename", vim.tbl_extend("error", at("let out", 4), { newName = "less" }))
  check("a word of the language is refused", refused and refused.message:find("a word of the language", 1, true), refused)

  -- Formatting, by Neovim's own command.
  vim.api.nvim_buf_set_lines(buffer, line_with("engrave ring crew"), line_with("engrave ring crew") + 1, true,
    { "   engrave   ring crew {labels 0 to most;radius out}" })
  vim.lsp.buf.formatting_sync({}, 20000)
  check("formatting lays it out", text():find("\n  engrave ring crew { labels 0 to most; radius out }\n", 1, true), text())

  -- Leave.
  client.stop()
  check("the server ends", vim.wait(20000, function() return client.is_stopped() end, 20), client.is_stopped())
end

local ran, problem = xpcall(main, debug.traceback)
if not ran then
  failed = failed + 1
  print(problem)
end
vim.fn.delete(folder, "rf")
vim.cmd(failed == 0 and "qall!" or "cquit 1")
