"""The screen of `why-not`: what the best build would have to give up, or why it cannot be."""

from __future__ import annotations

from rich.text import Text

from cli.screen.explain import show_comparison
from cli.screen.page import CAUTIONS, indented, page, show_assumed
from cli.screen.why import show_cautions, show_clash
from solver.reports.explanation import WhyNot

RANKED = {"better": "and better", "equal": "and ranked the same", "worse": "and ranked lower"}
"""How the best build that does what is asked for ranks beside the best one."""


def show_why_not(answer: WhyNot) -> None:
    """Print why the best build does not do what is asked for."""
    with page() as out:
        title = f"{answer.scenario}: {answer.asked}"
        if answer.outcome == "does":
            out.print(Text(title, "bold"))
            out.print(indented(Text("The best build does this already.")))
        elif answer.outcome == "unknown":
            out.print(Text(f"No answer yet: {title}", "bold"))
            out.print(indented(Text("The search ended before it found a build or proved that there is none.")))
        elif answer.comparison is not None:
            other = answer.comparison.other
            known = "" if other.proven else ", not proven best of its kind"
            out.print(Text(f"Possible, {RANKED[answer.outcome]}{known}: {title}", "bold"))
            if answer.outcome == "better":
                out.print(indented(Text("What the scenario says itself rules it out.")))
            show_comparison(out, answer.comparison, answer.currency, ("best build", "with this"))
        elif answer.outcome == "worse":
            out.print(Text(f"Possible, though the scenario itself is not: {title}", "bold"))
            out.print(indented(Text("`strapwork why` says why the scenario itself has no build.")))
        elif answer.clash is not None:
            out.print(Text(f"Impossible, proven: {title}", "bold"))
            show_clash(out, answer.clash, answer.currency, "work", supposed=True)
        if answer.comparison is not None or answer.clash is not None:
            show_assumed(out, answer.assumed)
        show_cautions(out, answer.clash)
        if answer.comparison is not None:
            out.print()
            out.print(Text(CAUTIONS))
