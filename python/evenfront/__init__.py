"""Start-up transient and throttle trim of two-component metering machines.

>>> from evenfront import load_case, trim
>>> case = load_case("data/cases/long-boom-held-shots.toml")
>>> run = case.simulate()
>>> answer = trim(case, "least_soft").answer
"""

from evenfront.case import Case, CaseError, load_case
from evenfront.run import Outlet, Run
from evenfront.trimming import Answer, TrimResult, trim

__all__ = [
    "Answer",
    "Case",
    "CaseError",
    "Outlet",
    "Run",
    "TrimResult",
    "load_case",
    "trim",
]
