"""The command line: parse, call one service function, print. Nothing here computes, queries or words a rule.

`main` starts the program; `ask` holds what every command shares (ledger, JSON, errors, exit codes); `screen` prints
tables that fit 80 columns; the `commands_*` modules hold one function a command.
"""
