"""Fifty clients, a scripted run, and `kill -9` at random moments: nothing lost, nothing twice.

`python -m tests.killtest [--kills N] [--database sqlite|postgresql] [--json] [--seed N] [--keep DIR]`.
Figures are counted from the chat room's record and by SQL; see `checker.py`, which imports
nothing from the program.
"""
