"""Carrying out the actions of a finding on a layout, as a crew would."""

from __future__ import annotations

from collections.abc import Iterable
from dataclasses import replace

from evenboard.electrics.layout import Layout, Load, Run
from evenboard.findings import action as act
from evenboard.findings.feeder import laid_apart, laid_out
from evenboard.findings.thicken import resized
from evenboard.intake.plug import plugged

__all__ = ["carried_out"]


def carried_out(layout: Layout, actions: Iterable[act.Action]) -> Layout:
    """The layout after all actions; an action that names what is not there fails loudly."""
    for action in actions:
        layout = _after(layout, action)
    return layout


def _after(layout: Layout, action: act.Action) -> Layout:
    match action:
        case act.Move(load, board, outlet):
            index = layout.board_index(board)
            place = layout.boards[index].outlet(outlet)
            assert place is not None, outlet
            return _with_load(layout, load, lambda own: plugged(own, index, place, layout))
        case act.Unplug(load):
            return _with_load(
                layout,
                load,
                lambda own: replace(own, board=None, outlet=None, supply_lines=(), lead=None),
            )
        case act.Resize():
            return _with_run(layout, action.board, action.load, lambda run: _resized(run, action))
        case act.LayOut(board, load):
            return _with_run(layout, board, load, laid_out)
        case act.SeparateRuns(board, load):
            return _with_run(layout, board, load, laid_apart)
        case act.ConnectNeutral(None, str() as load):
            return _with_run(layout, None, load, lambda run: replace(run, neutral_connected=True))
        case act.ConnectNeutral(None):
            return replace(layout, supply=replace(layout.supply, neutral=True))
        case act.ConnectNeutral(board):
            boards = tuple(
                replace(
                    b,
                    neutral=True,
                    feeder=None if b.feeder is None else replace(b.feeder, neutral_connected=True),
                )
                if b.id == board
                else b
                for b in layout.boards
            )
            return replace(layout, boards=boards)
        case act.StartInOrder(groups):
            return replace(layout, start_order=groups)
        case act.Replace(tag):
            return _without_tag(layout, tag)
        case act.UndimmedSupply(load):
            return _with_load(layout, load, lambda own: replace(own, dimmer="built-in"))
        case _:
            raise AssertionError(f"no way to carry out {action}")


def _resized(run: Run, action: act.Resize) -> Run:
    if action.capacity_a is not None:
        assert run.conductor is not None
        return replace(run, conductor=replace(run.conductor, capacity_a=action.capacity_a))
    return resized(run, action.csa_mm2, action.r_ohm_per_km)


def _with_load(layout, load_id, change):  # type: ignore[no-untyped-def]
    assert load_id in {load.id for load in layout.loads}, load_id
    loads = tuple(change(load) if load.id == load_id else load for load in layout.loads)
    return replace(layout, loads=loads)


def _with_run(layout, board_id, load_id, change):  # type: ignore[no-untyped-def]
    assert (board_id is None) != (load_id is None)
    if load_id is not None:
        return _with_load(layout, load_id, lambda own: replace(own, lead=change(own.lead)))
    boards = tuple(
        replace(b, feeder=change(b.feeder)) if b.id == board_id else b for b in layout.boards
    )
    return replace(layout, boards=boards)


def _without_tag(layout: Layout, tag: str) -> Layout:
    def bare(run: Run | None) -> Run | None:
        return replace(run, tag=None) if run is not None and run.tag == tag else run

    def other(load: Load) -> Load:
        return replace(load, tag=None if load.tag == tag else load.tag, lead=bare(load.lead))

    boards = tuple(
        replace(b, tag=None if b.tag == tag else b.tag, feeder=bare(b.feeder))
        for b in layout.boards
    )
    return replace(layout, boards=boards, loads=tuple(other(load) for load in layout.loads))
