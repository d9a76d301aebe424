"""Why a design is as it is: the tree of `show` and the ladder of `why`. Floor 7; computes nothing."""

from copperplate.why.as_json import ladder_json
from copperplate.why.ladder import ladder, run_of
from copperplate.why.tree import show

__all__ = ["ladder", "ladder_json", "run_of", "show"]
