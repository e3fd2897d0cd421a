"""Formulas as tokens, and what stands beside one."""

from __future__ import annotations

import formualizer
from formualizer import Token, TokenSubType, TokenType

_REFERENCE_OPERATORS = (":", ",", " ")


class NotComputed(Exception):
    """A formula that cannot be computed here; the text says why, in a few words."""


def tokens_of(formula: str) -> list[Token]:
    """The tokens of a formula; raises NotComputed where it is none."""
    try:
        return formualizer.tokenize("=" + formula.strip()).tokens()
    except (formualizer.TokenizerError, ValueError) as problem:
        raise NotComputed(f"the formula cannot be read ({problem})") from None


def is_operand(token: Token) -> bool:
    """Whether a token is a reference or a name."""
    return token.token_type == TokenType.Operand and token.subtype == TokenSubType.Range


def neighbour(tokens: list[Token], index: int, step: int) -> Token | None:
    """The token before (step -1) or after (step 1) one, spaces passed over."""
    index += step
    while 0 <= index < len(tokens):
        if tokens[index].token_type != TokenType.Whitespace:
            return tokens[index]
        index += step
    return None


def is_edge(token: Token | None) -> bool:
    """Whether an argument begins or ends there."""
    return (
        token is None or token.token_type == TokenType.Sep or token.subtype in (TokenSubType.Open, TokenSubType.Close)
    )


def is_beside_operator(before: Token | None, after: Token | None) -> bool:
    """Whether an operand between these takes part in arithmetic, comparison or joining of texts."""
    for token in (before, after):
        if token is None:
            continue
        if token.token_type in (TokenType.OpPrefix, TokenType.OpPostfix) and token.value not in ("#", "@"):
            return True
        if token.token_type == TokenType.OpInfix and token.value not in _REFERENCE_OPERATORS:
            return True
    return False
