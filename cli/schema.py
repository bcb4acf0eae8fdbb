"""`strapwork schema`: JSON Schemas of the files and of what commands print."""

from __future__ import annotations

import importlib

import click

MODELS = {
    "scenario": "solver.room.scenario.Scenario",
    "hardware": "solver.room.hardware.Hardware",
    "build": "solver.room.build.Build",
    "report": "solver.reports.report.Report",
    "explanation": "solver.reports.explanation.Explanation",
    "why-not": "solver.reports.explanation.WhyNot",
    "reach": "solver.reports.reach.ReachReport",
    "room": "solver.reports.share.RoomAnswers",
    "why-rooms": "solver.reports.campus_why.CampusWhy",
    "channels": "solver.reports.channels.ChannelList",
    "blocks": "solver.reports.blocks.BlocksReport",
    "looms": "solver.reports.looms.LoomList",
    "labels": "solver.reports.labels.LabelList",
    "find": "solver.reports.found.Found",
    "failed": "solver.reports.failed.Failed",
    "single-points": "solver.reports.failed.SinglePoints",
    "power": "solver.reports.power.Power",
    "clock": "solver.reports.clock_tree.ClockTrees",
    "rack": "solver.reports.rack.Racks",
    "list": "solver.reports.inputlist.NumberedList",
    "diff": "solver.reports.difference.Difference",
    "work-order": "solver.reports.work_order.WorkOrder",
    "pack": "solver.reports.pack.Pack",
    "manifest": "solver.reports.pack.Manifest",
    "refused": "solver.reports.element.Refused",
}
"""Every document, and the model that it is one of, imported when it is asked for."""

WHAT = tuple(MODELS)


@click.command(epilog=f"WHAT is {', '.join(WHAT[:-1])} or {WHAT[-1]}; scenario without it.")
@click.argument("what", type=click.Choice(WHAT), default="scenario", metavar="WHAT")
def schema(what: str) -> int:
    """Print the JSON Schema of a file, or of a document that a command prints with --format json."""
    import json

    from solver.reports.keys import described

    module, _, name = MODELS[what].rpartition(".")
    model = getattr(importlib.import_module(module), name)
    document = {"$schema": "https://json-schema.org/draft/2020-12/schema", **described(model.model_json_schema())}
    click.echo(json.dumps(document, indent=2))
    return 0
