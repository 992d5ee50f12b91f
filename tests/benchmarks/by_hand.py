"""The numeric rules as a programmer writes them by hand: floats, both ends, three verdicts.

Base units as in fitcheck (millimetre, newton, second), so limits are converted once, here.
"""

from __future__ import annotations

from collections.abc import Sequence
from math import pi

from fitcheck.language import CONFLICT, FITS, STRADDLES


def verdicts(ends: Sequence[float]) -> tuple[int, ...]:  # noqa: PLR0915
    """The verdicts of the twenty rules; `ends` holds lower and upper end of each figure in turn.

    A billionth is allowed on every limit, for figures that meet it exactly.
    """
    (
        lobe_lo,
        lobe_hi,
        ratio_lo,
        ratio_hi,
        fitted_lo,
        fitted_hi,
        bind_lo,
        bind_hi,
        seat_load_lo,
        seat_load_hi,
        rate_lo,
        rate_hi,
        spring_od_lo,
        spring_od_hi,
        spring_id_lo,
        spring_id_hi,
        pocket_lo,
        pocket_hi,
        boss_lo,
        boss_hi,
        seal_gap_lo,
        seal_gap_hi,
        step_lo,
        step_hi,
        lifter_load_lo,
        lifter_load_hi,
        guide_lo,
        guide_hi,
        stem_lo,
        stem_hi,
        head_lo,
        head_hi,
        throat_lo,
        throat_hi,
        width_lo,
        width_hi,
        seat_angle_lo,
        seat_angle_hi,
        face_angle_lo,
        face_angle_hi,
        rim_lo,
        rim_hi,
        insert_lo,
        insert_hi,
        counterbore_lo,
        counterbore_hi,
        bore_lo,
        bore_hi,
        stroke_lo,
        stroke_hi,
        chamber_lo,
        chamber_hi,
        gasket_lo,
        gasket_hi,
        gasket_bore_lo,
        gasket_bore_hi,
        deck_lo,
        deck_hi,
        crown_lo,
        crown_hi,
        speed_lo,
        speed_hi,
    ) = ends

    lift_lo, lift_hi = lobe_lo * ratio_lo, lobe_hi * ratio_hi
    coil_bind = (
        FITS
        if fitted_lo - lift_hi - bind_hi >= 1.524 - 1e-9
        else CONFLICT
        if fitted_hi - lift_lo - bind_lo < 1.524 - 1e-9
        else STRADDLES
    )
    retainer_on_seal = (
        FITS
        if seal_gap_lo - lift_hi >= 1.27 - 1e-9
        else CONFLICT
        if seal_gap_hi - lift_lo < 1.27 - 1e-9
        else STRADDLES
    )

    open_lo, open_hi = seat_load_lo + rate_lo * lift_lo, seat_load_hi + rate_hi * lift_hi
    weak_open = (
        FITS
        if open_lo >= 1112.055403815125 - 1e-9
        else CONFLICT
        if open_hi < 1112.055403815125 - 1e-9
        else STRADDLES
    )
    lifter_overloaded = (
        FITS
        if lifter_load_lo - open_hi >= -1e-9
        else CONFLICT
        if lifter_load_hi - open_lo < -1e-9
        else STRADDLES
    )

    pocket_tight = (
        FITS
        if pocket_lo - spring_od_hi >= 0.254 - 1e-9
        else CONFLICT
        if pocket_hi - spring_od_lo < 0.254 - 1e-9
        else STRADDLES
    )
    boss_tight = (
        FITS
        if spring_id_lo - boss_hi >= 0.508 - 1e-9
        else CONFLICT
        if spring_id_hi - boss_lo < 0.508 - 1e-9
        else STRADDLES
    )
    step_loose = (
        FITS
        if spring_id_hi - step_lo <= 0.381 + 1e-9
        else CONFLICT
        if spring_id_lo - step_hi > 0.381 + 1e-9
        else STRADDLES
    )

    play_lo, play_hi = guide_lo - stem_hi, guide_hi - stem_lo
    stem_tight = (
        FITS if play_lo >= 0.0254 - 1e-9 else CONFLICT if play_hi < 0.0254 - 1e-9 else STRADDLES
    )
    stem_loose = (
        FITS if play_hi <= 0.0762 + 1e-9 else CONFLICT if play_lo > 0.0762 + 1e-9 else STRADDLES
    )

    under, over = seat_angle_lo - face_angle_hi, seat_angle_hi - face_angle_lo
    if under >= -1.0 - 1e-9 and over <= 1.0 + 1e-9:
        angles_apart = FITS
    elif over < -1.0 - 1e-9 or under > 1.0 + 1e-9:
        angles_apart = CONFLICT
    else:
        angles_apart = STRADDLES

    if width_lo >= 1.016 - 1e-9 and width_hi <= 2.032 + 1e-9:
        seat_width = FITS
    elif width_hi < 1.016 - 1e-9 or width_lo > 2.032 + 1e-9:
        seat_width = CONFLICT
    else:
        seat_width = STRADDLES

    narrow_lo, narrow_hi = throat_lo / head_hi, throat_hi / head_lo
    if narrow_lo >= 0.85 - 1e-9 and narrow_hi <= 0.91 + 1e-9:
        throat = FITS
    elif narrow_hi < 0.85 - 1e-9 or narrow_lo > 0.91 + 1e-9:
        throat = CONFLICT
    else:
        throat = STRADDLES

    thin_margin = (
        FITS if rim_lo >= 1.016 - 1e-9 else CONFLICT if rim_hi < 1.016 - 1e-9 else STRADDLES
    )

    press_lo, press_hi = insert_lo - counterbore_hi, insert_hi - counterbore_lo
    if press_lo >= 0.0762 - 1e-9 and press_hi <= 0.1778 + 1e-9:
        insert_press = FITS
    elif press_hi < 0.0762 - 1e-9 or press_lo > 0.1778 + 1e-9:
        insert_press = CONFLICT
    else:
        insert_press = STRADDLES

    lift_over_diameter = (
        FITS
        if lift_hi / head_lo <= 0.3 + 1e-9
        else CONFLICT
        if lift_lo / head_hi > 0.3 + 1e-9
        else STRADDLES
    )

    area_lo, area_hi = pi / 4 * bore_lo * bore_lo, pi / 4 * bore_hi * bore_hi
    # A piston that stands out of the deck takes volume away: the larger bore then gives the least.
    deck_volume_lo = (area_lo if deck_lo > 0 else area_hi) * deck_lo
    deck_volume_hi = (area_hi if deck_hi > 0 else area_lo) * deck_hi
    left_lo = (
        chamber_lo
        + crown_lo
        + deck_volume_lo
        + pi / 4 * gasket_bore_lo * gasket_bore_lo * gasket_lo
    )
    left_hi = (
        chamber_hi
        + crown_hi
        + deck_volume_hi
        + pi / 4 * gasket_bore_hi * gasket_bore_hi * gasket_hi
    )
    left_lo = left_lo if left_lo > 20_000.0 else 20_000.0
    left_hi = left_hi if left_hi < 600_000.0 else 600_000.0
    squeeze_lo, squeeze_hi = 1 + area_lo * stroke_lo / left_hi, 1 + area_hi * stroke_hi / left_lo
    compression_low = (
        FITS if squeeze_lo >= 9.0 - 1e-9 else CONFLICT if squeeze_hi < 9.0 - 1e-9 else STRADDLES
    )
    compression_high = (
        FITS if squeeze_hi <= 11.0 + 1e-9 else CONFLICT if squeeze_lo > 11.0 + 1e-9 else STRADDLES
    )

    gap_lo, gap_hi = gasket_lo + deck_lo, gasket_hi + deck_hi
    if gap_lo >= 0.889 - 1e-9 and gap_hi <= 1.524 + 1e-9:
        quench = FITS
    elif gap_hi < 0.889 - 1e-9 or gap_lo > 1.524 + 1e-9:
        quench = CONFLICT
    else:
        quench = STRADDLES

    gasket_over_bore = (
        FITS
        if gasket_bore_lo - bore_hi >= 0.762 - 1e-9
        else CONFLICT
        if gasket_bore_hi - bore_lo < 0.762 - 1e-9
        else STRADDLES
    )
    piston_fast = (
        FITS
        if 2 * stroke_hi * speed_hi <= 20_320.0 + 1e-9
        else CONFLICT
        if 2 * stroke_lo * speed_lo > 20_320.0 + 1e-9
        else STRADDLES
    )

    return (
        coil_bind,
        retainer_on_seal,
        weak_open,
        lifter_overloaded,
        pocket_tight,
        boss_tight,
        step_loose,
        stem_tight,
        stem_loose,
        angles_apart,
        seat_width,
        throat,
        thin_margin,
        insert_press,
        lift_over_diameter,
        compression_low,
        compression_high,
        quench,
        gasket_over_bore,
        piston_fast,
    )
