"""The network: Kirchhoff's laws over both poles. Floor 5.

`demand` carries the currents for sizing; `solve` finds the working point with the sizes as built;
`governing` tells what adds up in a current for sizing.
"""

from copperplate.network.demand import demand
from copperplate.network.governing import Governing, governing
from copperplate.network.solution import solve

__all__ = ["Governing", "demand", "governing", "solve"]
