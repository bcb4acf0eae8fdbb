"""What air gets by without passing a card: open slots of a frame with a fan, and fans that stand still."""

from __future__ import annotations


def past_in_gaps(open_slots: int, leak_cm2: float, gap_area_cm2: float) -> float:
    """How much air open slots let by, counted in gaps: as many more gaps would take as much.

    Parameters
    ----------
    open_slots
        Slots with neither card nor blank, 0 or more.
    leak_cm2
        Free area in cm2 that each of them opens from the fan's side to the room beside the gaps, 0 or more.
    gap_area_cm2
        Free area of each gap in cm2, above 0.

    Returns
    -------
    float
        `open_slots` times the one area over the other, without unit.

    Raises
    ------
    ValueError
        A figure outside its range.

    Notes
    -----
    Openings side by side have one pressure difference across them, and each lets Q = C_D A sqrt(2 dp / rho) through, so
    that they share a flow as their areas, with one discharge coefficient for all (ASHRAE Handbook of Fundamentals,
    chapter 16; that areas side by side add up is from memory). The fan's flow is taken to stay as it is: an opening
    more only lets it move more air than that. Nothing gets by in a draught, where each gap draws its own air.
    """
    if open_slots < 0:
        raise ValueError(f"{open_slots} open slots: at least 0 are needed")
    if not leak_cm2 >= 0:
        raise ValueError(f"leak {leak_cm2:g} cm2 is below 0 cm2")
    if not gap_area_cm2 > 0:
        raise ValueError(f"gap {gap_area_cm2:g} cm2 is not above 0 cm2")
    return open_slots * leak_cm2 / gap_area_cm2


def flow_of_the_rest_m3_h(flow_m3_h: float, fans: int) -> float:
    """What is left of the flow of alike fans side by side when one of them stands still.

    Parameters
    ----------
    flow_m3_h
        The flow of all of them together in m3/h, above 0.
    fans
        How many there are, 2 or more.

    Returns
    -------
    float
        Flow in m3/h.

    Raises
    ------
    ValueError
        A figure outside its range.

    Notes
    -----
    The flows of fans side by side add up (fan laws, from memory). With less flow through the same frame each of the
    others has less to overcome and moves no less than before. The one that stands is taken to let nothing back through
    it; without a flap it does, and there is less left than this.
    """
    if not flow_m3_h > 0:
        raise ValueError(f"flow {flow_m3_h:g} m3/h is not above 0 m3/h")
    if fans < 2:
        raise ValueError(f"{fans} fans: at least 2 are needed")
    return flow_m3_h * (fans - 1) / fans
