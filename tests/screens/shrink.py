"""Pictures with few colours are small: each PNG named gets a palette of 32
and must then be under 150 kB. Usage: shrink.py PNG…"""

import os
import sys

from PIL import Image

COLOURS = 32
MOST_BYTES = 150_000
LEAST_BYTES = 5_000  # smaller shows nothing

for path in sys.argv[1:]:
    picture = Image.open(path).convert("RGB")
    picture.quantize(COLOURS, method=Image.Quantize.MAXCOVERAGE,
                     dither=Image.Dither.NONE).save(
        path, optimize=True)
    size = os.path.getsize(path)
    print(f"{os.path.basename(path)}: {picture.width} x {picture.height}, "
          f"{size} bytes")
    if not LEAST_BYTES <= size <= MOST_BYTES:
        sys.exit("too large, or empty")
