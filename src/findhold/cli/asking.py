"""Questions of an import: asked on a terminal, or printed with the option that answers each."""

from __future__ import annotations

import shlex
import sys
from collections.abc import Callable, Sequence

from findhold.cli import screen
from findhold.errors import Question

MOST_OPTIONS = 6
"""Up to so many choices each have their own line to copy; with more, one line has CHOICE in it."""

Ask = Callable[[Question], str | None]


def on_terminal() -> bool:
    """True when a person sits before the program and can be asked."""
    return sys.stdin.isatty() and sys.stdout.isatty()


def answer_option(about: str, choice: str) -> str:
    """The option that answers a question, quoted for the command line: --answer "field name=Fridge name"."""
    pair = f"{about}={choice}"
    return f"--answer {shlex.quote(pair)}" if set(pair) & set('"$`\\!') else f'--answer "{pair}"'


def option_lines(question: Question) -> list[str]:
    """What a person can add to the same command to answer a question; one line per choice when they are few."""
    if "=" in question.about:
        # The first = of an answer ends what it is about.
        return ["answer in a mapping file: --write-map map.toml, edit it, then --map map.toml"]
    if question.choices and len(question.choices) <= MOST_OPTIONS:
        return [answer_option(question.about, choice) for choice in question.choices]
    return [answer_option(question.about, "CHOICE")]


def ask_one(question: Question) -> str | None:
    """Ask one question with numbered choices; None when the person gives up."""
    place = f"Row {question.row}: " if question.row is not None else ""
    screen.say(f"? {place}{question.text}")
    for number, choice in enumerate(question.choices, 1):
        screen.say(f"    {number}  {choice}")
    wanted = "  number or word, nothing to give up: " if question.choices else "  answer, nothing to give up: "
    while True:
        try:
            typed = screen.console().input(wanted, markup=False).strip()
        except EOFError:
            return None
        if not typed:
            return None
        answer = chosen(typed, question.choices)
        if answer is not None:
            return answer
        screen.say(f"  {typed!r} is neither a number from 1 to {len(question.choices)} nor one of the choices.")


def chosen(typed: str, choices: Sequence[str]) -> str | None:
    """The choice meant by its number or by itself, whatever its case; any text when there are no choices."""
    if not choices:
        return typed
    by_word = [choice for choice in choices if choice.casefold() == typed.casefold()]
    if by_word:
        return by_word[0]
    if typed.isdecimal() and 1 <= int(typed) <= len(choices):
        return choices[int(typed) - 1]
    return None


def ask_all(questions: Sequence[Question], ask: Ask) -> tuple[dict[str, str], bool]:
    """Every question in turn: the answers, and whether all were given."""
    answers: dict[str, str] = {}
    for question in questions:
        answer = ask(question)
        if answer is None:
            return answers, False
        answers[question.about] = answer
    return answers, True


def say_answers(answers: dict[str, str]) -> None:
    """The answers given so far as options, so that they need not be thought of again."""
    if answers:
        screen.say("Your answers, for the next time:")
        for about, choice in answers.items():
            screen.say(f"    {answer_option(about, choice)}")
