"""debrief lexicon: check packs, show why a word was or was not corrected, propose terms from a session. Thin: each prints what a plain
function says."""
from pathlib import Path
from typing import Annotated

import typer

from .hearing.saved_transcript import read_transcript
from .records.sound import Segment, Source, Word
from .session import Session, load_session
from .wording.correction import Corrector, read_as
from .wording.lexicon import load_lexicon, own_packs, packs_for
from .wording.proposals import propose
from .wording.vocabulary import active_packs, build_vocabulary, plain_words

lexicon_app = typer.Typer(no_args_is_help=True, help="Word packs: check them, ask why a word was corrected, propose terms.")
PacksArgument = Annotated[list[Path] | None, typer.Argument(help="packs to check; the tool's own when none is given")]
SessionOption = Annotated[Path | None, typer.Option("--session", help="session file (TOML) or its folder")]


@lexicon_app.command("check")
def check_packs(packs: PacksArgument = None) -> None:
    """Check packs: all faults at once, with file and line."""
    lexicon = load_lexicon(tuple(packs) if packs else tuple(own_packs().values()))
    for name in lexicon.packs:
        kinds = sorted({term.kind for term in lexicon.terms if term.pack == name})
        count = sum(term.pack == name for term in lexicon.terms)
        typer.echo(f"{name}: {count} terms ({', '.join(kinds)}), {sum(f.pack == name for f in lexicon.frames)} wordings")


@lexicon_app.command("why")
def why_command(text: Annotated[str, typer.Argument(help="words as they were heard, in quotes")], session: SessionOption = None) -> None:
    """Show what would be read for these words, and why, or why not."""
    for line in explain(text, *_session(session)):
        typer.echo(line)


@lexicon_app.command("propose")
def propose_command(transcript: Path, session: SessionOption = None) -> None:
    """Propose terms that a session's transcript suggests for a pack of your own."""
    loaded, beside = _session(session)
    segments = read_transcript(transcript, Source("r1", 0))
    lexicon = load_lexicon(packs_for(loaded.lexicon, beside))
    found = propose(segments, build_vocabulary(lexicon, loaded, _heard(segments)))
    for item in found:
        typer.echo(f"{item.count:4}  {item.entry}  # {item.why}")
    if not found:
        typer.echo("nothing to propose: every word said often is known")


def explain(text: str, session: Session, beside: Path | None) -> list[str]:
    """Lines that tell, for each stretch of the text that sounds like a term, what it is read as, or what it would have needed."""
    lexicon = load_lexicon(packs_for(session.lexicon, beside))
    segment = Segment("given", tuple(Word(word) for word in text.split()))
    corrector = Corrector(build_vocabulary(lexicon, session, _heard([segment])))
    tokens = read_as(segment)
    made = corrector.changes(tokens)
    packs = ", ".join(sorted(active_packs(lexicon, session, _heard([segment]))))
    lines = [f"packs that speak here: {packs}", f"read as: {' '.join(token.text for token in corrector.correct(tokens))}"]
    lines += [f"  {change.why}" for change in made]
    near = sorted(set(corrector.considered(tokens)) - set(made), key=lambda change: change.need - change.likeness)
    lines += [f"  not done: {change.why}" for change in near[:5]]
    return lines if made or near else [*lines, "  nothing here sounds like a term that is not written already"]


def _session(path: Path | None) -> tuple[Session, Path | None]:
    if path is None:
        return Session(), None
    return load_session(path)[0], path if path.is_dir() else path.parent


def _heard(segments: list[Segment] | tuple[Segment, ...]) -> list[tuple[str, ...]]:
    return [tuple(word for item in segment.words for word in plain_words(item.text)) for segment in segments]
