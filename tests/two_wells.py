"""An invented house on two wells, as a file: what its tests share."""

from __future__ import annotations

FIRST = """
[project]
name = "Two wells (invented)"
units = "us"
demand = "irc"
people = 4

[source]
kind = "well"
elevation = "-6 ft"
cut_in = "40 psi"
cut_out = "60 psi"

[source.tank]
volume = "119 gal"
precharge = "38 psi"
max_pressure = "125 psi"
relief = "75 psi"

[source.pump]
curve = [["0 gpm", "310 ft"], ["5 gpm", "290 ft"], ["10 gpm", "235 ft"], ["15 gpm", "140 ft"]]

[source.well]
static_level = "62 ft"
specific_capacity = "1.2 gpm/ft"
recovery = "3 gpm"
pump_depth = "160 ft"
diameter = "6 in"
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "160 ft", check_valves = 1 }

[[run]]
name = "trench"
from = "wellhead"
to = "well tee"
material = "pe-cts-sdr9"
length = "90 ft"
buried = "42 in"

[[run]]
name = "tee to house"
from = "well tee"
to = "source"
material = "pe-cts-sdr9"
length = "60 ft"
buried = "42 in"

[water]
cold = "50 degF"
hot = "120 degF"

[defaults]
material = "pex-sdr9"
joining = "crimp"

[[run]]
name = "main"
from = "source"
to = "hall"
length = "16 ft"
fittings = { elbow-90 = 3, ball-valve = 1 }

[[run]]
name = "to the heater"
from = "hall"
to = "heater inlet"
length = "6 ft"
fittings = { elbow-90 = 2, ball-valve = 1 }

[[device]]
name = "water heater"
kind = "heater"
from = "heater inlet"
to = "heater outlet"
elevation = "1 ft"

[[fixture]]
name = "shower"
kind = "shower"
elevation = "7 ft"
cold = { from = "hall", length = "24 ft" }
hot = { from = "heater outlet", length = "24 ft" }

[[fixture]]
name = "toilet"
kind = "water-closet"
elevation = "1 ft"
cold = { from = "hall", length = "23 ft" }
"""
SECOND = """
[[well]]
name = "lower well"
static_level = "40 ft"
recovery = "2 gpm"
pump_depth = "120 ft"
diameter = "6 in"
elevation = "-14 ft"
drop_pipe = { material = "pe-cts-sdr9", size = "1", length = "120 ft", check_valves = 1 }
[well.pump]
curve = [["0 gpm", "240 ft"], ["5 gpm", "220 ft"], ["10 gpm", "170 ft"]]

[[run]]
name = "lower trench"
from = "lower well"
to = "well tee"
material = "pe-cts-sdr9"
length = "150 ft"
buried = "42 in"
"""
BOTH = FIRST + SECOND
