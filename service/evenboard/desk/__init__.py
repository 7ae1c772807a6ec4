"""The rules of the rental desk and of the day, as functions of state and event.

``layouts`` says how a shared layout changes and where two people collide, ``readings`` what a
clamp meter's amps mean beside the planned ones. ``equipment`` says what may happen to a piece by
tag, ``testing`` when it is due, ``tagged`` what a layout that names it may rely on, ``uneven`` how
far its cores have been pulled apart, ``stocklist`` and ``photos`` what comes in as a file. A rule
knows no HTTP; it raises what is wrong by its name.
"""
