"""The first image as pictures: the field of each target with the frame and the guide sensor as they now stand."""

from sidelight.cards.drawings import setup_pictures
from sidelight.desk.first_image_records import FirstImageReport
from sidelight.pictures.palette import Theme


def check_pictures(report: FirstImageReport, theme: Theme) -> dict[str, str]:
    """Return the dial with its needle, and the fields, as the telescope now stands; by file name."""
    if report.now is None:
        return {}
    return {f"now-{name}": svg for name, svg in setup_pictures(report.now, theme).items()}
