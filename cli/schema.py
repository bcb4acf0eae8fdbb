"""`strapwork schema`: JSON Schemas of the files and of the report."""

from __future__ import annotations

import click

WHAT = ("scenario", "hardware", "build", "report", "explanation", "why-not", "reach", "room", "why-rooms", "refused")


@click.command()
@click.argument("what", type=click.Choice(WHAT), default="scenario")
def schema(what: str) -> int:
    """Print the JSON Schema of a file, of the report, or of what stands in for it where a command is refused."""
    import json

    from pydantic import BaseModel

    model: type[BaseModel]
    if what == "scenario":
        from solver.room.scenario import Scenario as model
    elif what == "hardware":
        from solver.room.hardware import Hardware as model
    elif what == "build":
        from solver.room.build import Build as model
    elif what == "report":
        from solver.reports.report import Report as model
    elif what == "explanation":
        from solver.reports.explanation import Explanation as model
    elif what == "why-not":
        from solver.reports.explanation import WhyNot as model
    elif what == "reach":
        from solver.reports.reach import ReachReport as model
    elif what == "why-rooms":
        from solver.reports.campus_why import CampusWhy as model
    elif what == "room":
        from solver.reports.share import RoomAnswers as model
    else:
        from solver.reports.report import Refused as model
    document = {"$schema": "https://json-schema.org/draft/2020-12/schema", **model.model_json_schema()}
    click.echo(json.dumps(document, indent=2))
    return 0
