"""Birds in care, and what was measured of them and done for them."""

from .bird import Bird
from .feed import Feed
from .observations import CropCheck, Milestone
from .weighing import Weighing

__all__ = ["Bird", "CropCheck", "Feed", "Milestone", "Weighing"]
