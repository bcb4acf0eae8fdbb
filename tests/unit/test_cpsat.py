"""A command has CP-SAT without pandas, and CP-SAT still does all that it does with it."""

import os
import subprocess
import sys
from pathlib import Path

ROOT = Path(__file__).parents[2]

SERIES = """
import pandas
model = cp_model.CpModel()
taken = model.new_bool_var_series("taken", pandas.Index(["a", "b", "c"]))
model.add(taken.sum() == 2)
model.minimize(taken.dot([3, 1, 2]))
solver = cp_model.CpSolver()
assert solver.solve(model) == cp_model.OPTIMAL
assert solver.values(taken).to_dict() == {"a": 0, "b": 1, "c": 1}
"""


def run(code: str) -> None:
    """Run a program in a process of its own."""
    subprocess.run([sys.executable, "-c", code], env={**os.environ, "PYTHONPATH": str(ROOT)}, check=True)


def test_pandas_waits_until_it_is_used() -> None:
    run(
        "import sys\nfrom cli.cpsat import load_cpsat\nload_cpsat()\nfrom solver.search.model.cpsat import cp_model\n"
        "assert 'pandas' not in sys.modules\nimport ortools.sat.python.cp_model as same\nassert same is cp_model\n"
        + SERIES
    )


def test_pandas_that_is_there_already_is_left_alone() -> None:
    run(
        "import pandas\nfrom cli.cpsat import load_cpsat\nload_cpsat()\n"
        "from solver.search.model.cpsat import cp_model\nimport sys\n"
        "assert sys.modules['pandas'] is pandas and cp_model.pd is pandas\n" + SERIES
    )


def test_a_cp_model_that_wants_more_of_pandas_gets_pandas() -> None:
    run(
        "import sys\nfrom cli import cpsat\ncpsat.ANNOTATED = ('Index',)\ncpsat.load_cpsat()\n"
        "assert cpsat.NAME not in sys.modules\nfrom solver.search.model.cpsat import cp_model\n"
        "assert cp_model.pd is sys.modules['pandas']\n" + SERIES
    )


def test_pandas_is_itself_after_an_import_that_failed() -> None:
    run(
        "import sys\nsys.modules['ortools.sat.python.cp_model_helper'] = None\n"
        "from cli.cpsat import load_cpsat\ntry:\n    load_cpsat()\n"
        "except ImportError:\n    pass\nelse:\n    raise AssertionError\n"
        "import pandas\nassert pandas.Series([1, 2]).sum() == 3\n"
    )
