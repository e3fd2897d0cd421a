"""The one gate for every file that people hand over.

A command that opens a file has two halves. The work reads and computes in a process of its own (``apart``), opens
files through ``read_file`` and ``opened_zip``, and gives its result and the bytes of what is to be written. The
command itself checks before the work where that will go (``Target``, ``check_new_file``) and writes it afterwards,
whole or not at all (``Target.put``, ``write_whole``)::

    target = Target.checked(log, output, in_place=False, overwrite=False)
    result, content = apart(partial(work, log), log, progress)
    target.put(content)
"""

from .apart import DEBUG, Runner, apart, here
from .problems import Fault, FileProblem, far_values_told
from .progress import Progress, silent
from .reading import check_file, read_file, read_workbook_bytes, status_of
from .writing import Target, check_new_file, check_unlocked, make_folder, write_whole
from .zip_parts import opened_zip

__all__ = [
    "DEBUG",
    "Fault",
    "FileProblem",
    "Progress",
    "Runner",
    "Target",
    "apart",
    "check_file",
    "check_new_file",
    "check_unlocked",
    "far_values_told",
    "here",
    "make_folder",
    "opened_zip",
    "read_file",
    "read_workbook_bytes",
    "silent",
    "status_of",
    "write_whole",
]
