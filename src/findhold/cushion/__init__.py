"""The room of cushions: what a block stands on, how hard it may be stopped, and which foam does that.

inputs      what is asked: block, declared fragility, handling route, foam in stock, own curve
curve       a foam's curve from printed or measured points, with its range and its scatter
route       drop height from the legs of a route
choose      foam thickness and bearing area for base, sides, ends and top
bearing     pressure at rest and in the drop; boards
foot        what a block really stands on, from scan or tape
vibration   natural frequency on the cushion, and a lorry's shaking
plan        `plan_cushion`: all of it, with low, best and high, and what would help

Cautions, never promises: a drop trial with a dummy of the same mass settles what no curve can.
"""
