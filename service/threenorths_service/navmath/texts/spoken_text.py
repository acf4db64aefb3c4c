"""Words heard over a radio put into the letters and figures that they stand for.

Letters: ICAO, Annex 10 to the Convention on International Civil Aviation, volume II, 5.2.1.3, with the usual other
spellings. Figures: the same, 5.2.1.4, by their English spelling and by how they are said; and the code words of the ITU
Radio Regulations, appendix 14. All from memory.

Figures come one by one: ``two three four`` is 234, and so is ``two tree fower``. A number in words, such as ``fifty two``,
is refused, for it cannot be told from ``fifty, two``; so is ``oh``, which may be the letter O. ``Comma`` is a comma, with
its two meanings; ``decimal``, ``point`` and ``dot`` are the point.
"""

from __future__ import annotations

from .text_tokens import Token, Tokens

__all__ = ["FIGURES", "LETTERS", "POINTS", "has_spoken_figures", "spoken_fault", "written_out"]

_ALPHABET = (
    "ALFA ALPHA BRAVO CHARLIE DELTA ECHO FOXTROT GOLF HOTEL INDIA JULIETT JULIET JULIETTE KILO LIMA MIKE NOVEMBER "
    "OSCAR PAPA QUEBEC ROMEO SIERRA TANGO UNIFORM VICTOR WHISKEY WHISKY XRAY YANKEE ZULU"
)
LETTERS: dict[str, str] = {word: word[0] for word in _ALPHABET.split()}

FIGURES: dict[str, str] = {
    word: str(figure)
    for figure, words in enumerate(
        (
            "ZERO NOUGHT NAUGHT NADAZERO",
            "ONE UNAONE",
            "TWO BISSOTWO",
            "THREE TREE TERRATHREE",
            "FOUR FOWER KARTEFOUR",
            "FIVE FIFE PANTAFIVE",
            "SIX SOXISIX",
            "SEVEN SETTESEVEN",
            "EIGHT AIT OKTOEIGHT",
            "NINE NINER NOVENINE",
        )
    )
    for word in words.split()
}

POINTS = frozenset({"POINT", "DECIMAL", "DOT"})

_TIMES = {"DOUBLE": 2, "TRIPLE": 3}
_SIGNS = {"PLUS": Token("plus", "+", True), "MINUS": Token("minus", "-", True)}
_COMMA = Token("separator", ",", False)
_LEANT_ON = (*_SIGNS.values(), _COMMA)
_OH = "OH"
_FAULTS = frozenset(
    (
        "TEN ELEVEN TWELVE THIRTEEN FOURTEEN FIFTEEN SIXTEEN SEVENTEEN EIGHTEEN NINETEEN TWENTY THIRTY FORTY FIFTY SIXTY "
        "SEVENTY EIGHTY NINETY HUNDRED THOUSAND " + _OH
    ).split()
)
_SPOKEN = frozenset(
    {*LETTERS, *FIGURES, *POINTS, *_TIMES, *_SIGNS, "RAY", "COMMA"},
)


def has_spoken_figures(tokens: Tokens) -> bool:
    """Whether a figure is there in words."""
    return not FIGURES.keys().isdisjoint([token.text for token in tokens])


def spoken_fault(tokens: Tokens) -> str | None:
    """What is said in a way that has two meanings: a sentence, or ``None``."""
    if _FAULTS.isdisjoint([token.text for token in tokens]):
        return None
    for at, token in enumerate(tokens):
        if token.text == _OH:
            return f"{token.text!r} may be the figure 0 or the letter O: say zero, or Oscar"
        # In `31TEN` the letters are those of a grid reference.
        if token.text in _FAULTS and not (at and tokens[at - 1].kind == "number"):
            return f"say the figures one by one, as in five two: {token.text!r} is not read"
    return None


def written_out(tokens: Tokens) -> Tokens:
    """The tokens with letters, figures, points, commas and signs in place of the words for them."""
    if _SPOKEN.isdisjoint([token.text for token in tokens]):
        return tokens
    written: list[Token] = []
    at = 0
    leaning = False
    while at < len(tokens):
        token, at = _next_token(tokens, at)
        written.append(token._replace(spaced=False) if leaning else token)
        # A sign in words is no dash, and a comma in words is no pause: what comes next leans on it.
        leaning = any(token is said for said in _LEANT_ON)
    return written


def _next_token(tokens: Tokens, at: int) -> tuple[Token, int]:
    token = tokens[at]
    number, stop = _number_at(tokens, at)
    if stop > at:
        return Token("number", number, token.spaced), stop
    if token.text == "X" and (length := _ray_after(tokens, at + 1)):
        return token, at + 1 + length
    if token.text in LETTERS:
        return token._replace(text=LETTERS[token.text]), at + 1
    if token.text == "COMMA":
        return _COMMA, at + 1
    return _SIGNS.get(token.text, token), at + 1


def _ray_after(tokens: Tokens, at: int) -> int:
    """How many tokens are the rest of ``x-ray``."""
    texts = [token.text for token in tokens[at : at + 2]]
    if texts[:1] == ["RAY"]:
        return 1
    return 2 if texts[1:] == ["RAY"] and tokens[at].kind == "minus" else 0


def _number_at(tokens: Tokens, at: int) -> tuple[str, int]:
    """The number that is said from ``at`` on, and where it ends: at ``at`` itself where there is none."""
    whole, stop = _figures_at(tokens, at)
    if stop == at or stop + 1 >= len(tokens) or tokens[stop].text not in POINTS or "." in whole:
        return whole, stop
    decimals, end = _figures_at(tokens, stop + 1)
    if end == stop + 1 or "." in decimals:
        return whole, stop
    return f"{whole}.{decimals}", end


def _figures_at(tokens: Tokens, at: int) -> tuple[str, int]:
    """A run of figures in words, or one number in figures."""
    if at < len(tokens) and tokens[at].kind == "number":
        return tokens[at].text, at + 1
    figures = ""
    while at < len(tokens):
        times = _TIMES.get(tokens[at].text, 1)
        word_at = at + (times > 1)
        figure = FIGURES.get(tokens[word_at].text) if word_at < len(tokens) else None
        if figure is None:
            break
        figures += times * figure
        at = word_at + 1
    return figures, at
