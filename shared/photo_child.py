"""Turn one photo, read from standard input, into a plain JPEG on standard output.

Runs as a process of its own, with little processor time and memory: what came in may
be made to harm. The copy is written anew from its points alone, so nothing else in the
file (position, maker's notes, a second file) comes along. The first line out is
"width height"; the exit status says what was wrong. No Django.
"""

import io
import resource
import sys
import warnings

from PIL import Image, ImageOps, UnidentifiedImageError

CPU_S = 10
MEMORY_BYTES = 512 * 2**20
LARGEST_PIXELS = 24_000_000
LONGEST_SIDE_PX = 1600
FORMATS = ["JPEG", "PNG", "WEBP"]
QUALITY = 85
NOT_A_PHOTO, TOO_MANY_PIXELS = 3, 4


def limit():
    """Bind this process: it may compute and remember, and write no file."""
    resource.setrlimit(resource.RLIMIT_CPU, (CPU_S, CPU_S))
    resource.setrlimit(resource.RLIMIT_AS, (MEMORY_BYTES, MEMORY_BYTES))
    resource.setrlimit(resource.RLIMIT_FSIZE, (0, 0))


def plain_copy(original: bytes) -> Image.Image:
    """Return the photo upright, in RGB on white, no side longer than LONGEST_SIDE_PX."""
    image = Image.open(io.BytesIO(original), formats=FORMATS)
    # the header alone is read so far
    if image.width * image.height > LARGEST_PIXELS:
        sys.exit(TOO_MANY_PIXELS)
    image.draft("RGB", (LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    image.thumbnail((LONGEST_SIDE_PX, LONGEST_SIDE_PX))
    image = ImageOps.exif_transpose(image)
    copy = Image.new("RGB", image.size, "white")
    if image.has_transparency_data:
        image = image.convert("RGBA")
        copy.paste(image, mask=image.getchannel("A"))
    else:
        copy.paste(image.convert("RGB"))
    return copy


def main():
    limit()
    # cameras write notes that Pillow warns of; size has its own cap above
    warnings.simplefilter("ignore")
    Image.MAX_IMAGE_PIXELS = None
    try:
        copy = plain_copy(sys.stdin.buffer.read())
    except (UnidentifiedImageError, OSError, SyntaxError, ValueError):
        sys.exit(NOT_A_PHOTO)
    sys.stdout.buffer.write(f"{copy.width} {copy.height}\n".encode())
    copy.save(sys.stdout.buffer, "JPEG", quality=QUALITY, optimize=True)


if __name__ == "__main__":
    main()
