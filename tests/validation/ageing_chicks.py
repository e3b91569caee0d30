"""What of the weighed chicks tells an age, and how it is told to the service."""

#: Name: file of the chicks, key of the profile.
SETS = {
    "song sparrow": ("chick_song_sparrow", "melospiza-melodia"),
    "tree swallow": ("chick_tree_swallow_2017", "tachycineta-bicolor"),
    "zebra finch": ("chick_zebra_finch_diet", "taeniopygia-guttata-domestica"),
}
#: In the fitting half every song sparrow with a longer wing whose feathers were measured at all had pins: where every
#: such cell is blank, nobody measured. On a shorter wing a blank is a wing without pins.
LONGEST_BARE_WING_MM = 20.0


def pins_told(row: dict[str, str]) -> dict[str, bool]:
    """Milestones of a song sparrow's row: primaries through the skin, and their vanes out of the sheaths."""
    pins, sheaths, vanes, wing = (
        float(row[name] or 0.0)
        for name in ("pin_total_mm", "pin_sheath_after_break_mm", "feather_beyond_sheath_mm", "wing_mm")
    )
    visible = max(pins, sheaths, vanes) > 0.0
    if not visible and wing > LONGEST_BARE_WING_MM:
        return {}
    return {"pins_visible": visible, "pins_unsheathing": vanes > 0.0}
