"""A bucket's history for the eye: plain lines, a picture, and one page that needs nothing else."""

from benchvoice.history.asked import answer
from benchvoice.history.chronicle import Chronicle, Row, chronicle, known_buckets
from benchvoice.history.page import page
from benchvoice.history.picture import picture
from benchvoice.history.printed import lines, overview

__all__ = ["Chronicle", "Row", "answer", "chronicle", "known_buckets", "lines", "overview", "page", "picture"]
