"""The font in which figures are measured, as files."""

from pathlib import Path


def measured() -> tuple[Path, ...]:
    """Give the regular and bold files of DejaVu Sans that come with matplotlib.

    Files, not their folder: it also holds a font that draws a placeholder for any character whatever,
    and a name printed as boxes must fail, not pass.
    """
    import matplotlib

    folder = Path(matplotlib.get_data_path()) / "fonts" / "ttf"
    return folder / "DejaVuSans.ttf", folder / "DejaVuSans-Bold.ttf"
