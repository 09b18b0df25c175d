"""QR codes as vector drawings."""

import io

import segno

from readiness.wording.paper import parts

SIZE_MM = 30


def svg(text: str, size_mm: float = SIZE_MM) -> str:
    """A QR code (ISO/IEC 18004) of a text as inline SVG, with its quiet zone."""
    code = segno.make(text, error="m", micro=False)
    out = io.BytesIO()
    code.save(
        out,
        kind="svg",
        border=4,
        xmldecl=False,
        svgns=True,
        nl=False,
        unit="mm",
        scale=size_mm / code.symbol_size(border=4)[0],
        title=parts.code_of_link(),
    )
    return out.getvalue().decode()
