"""Pictures with few colours are small: each PNG named keeps 64 of its colours
as they are, the commonest and the strongest (the rest become the nearest of
them), and must then be under 200 kB. Usage: shrink.py PNG…"""

import os
import sys

from PIL import Image

COLOURS = 64
MOST_BYTES = 200_000
LEAST_BYTES = 5_000  # smaller shows nothing


def commonest(picture):
    """A picture whose palette is the commonest colours of another; a strong
    one, as of a thin red line, counts for more."""
    counted = picture.getcolors(picture.width * picture.height)
    counted.sort(key=lambda row: (
        -row[0] * (4 + 3 * (max(row[1]) - min(row[1]))), row[1]))
    values = [value for _, colour in counted[:COLOURS] for value in colour]
    palette = Image.new("P", (1, 1))
    palette.putpalette(values + values[:3] * (256 - len(values) // 3))
    return palette


for path in sys.argv[1:]:
    picture = Image.open(path).convert("RGB")
    picture.quantize(palette=commonest(picture),
                     dither=Image.Dither.NONE).save(path, optimize=True)
    size = os.path.getsize(path)
    print(f"{os.path.basename(path)}: {picture.width} x {picture.height}, "
          f"{size} bytes")
    if not LEAST_BYTES <= size <= MOST_BYTES:
        sys.exit("too large, or empty")
