"""The rules of the rental desk and of the day, as functions of state and event.

``layouts`` says how a shared layout changes and where two people collide, ``readings`` what a
clamp meter's amps mean beside the planned ones. A rule knows no HTTP; it raises what is wrong by
its name.
"""
