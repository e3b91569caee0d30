"""Pictures and papers made by typst: the same bytes from the same input, no font of the machine, no network."""

import typst

#: The chart fills its page; the page is as wide as asked and as high as the chart.
_PAGE = """#set page(width: {width_pt}pt, height: auto, margin: 0pt)
#image(bytes(sys.inputs.svg), format: "svg", width: 100%)
"""
#: A typst point is a pixel at this resolution.
_PIXELS_PER_POINT_PPI = 72.0


def png_of_svg(svg: str, *, width_px: int) -> bytes:
    """Draw an SVG as a PNG, for mail readers that show no SVG.

    Parameters
    ----------
    svg
        Text of the picture; handed over as data, never as markup.
    width_px
        Width of the picture, in pixels; its height follows.

    Returns
    -------
    bytes
        A PNG file.

    Raises
    ------
    typst.TypstError
        If the text is no SVG.
    """
    drawn = typst.compile(
        _PAGE.format(width_pt=width_px).encode(),
        format="png",
        ppi=_PIXELS_PER_POINT_PPI,
        sys_inputs={"svg": svg},
        ignore_system_fonts=True,
    )
    if not isinstance(drawn, bytes):  # several pages come as a list: the page grows, so there is one
        raise TypeError("One picture was asked for, and several pages came.")
    return drawn
