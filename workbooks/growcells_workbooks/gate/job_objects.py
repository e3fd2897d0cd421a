"""The limits of a process on Windows: a job object with a bound on memory, which ends it with its parent.

No Windows machine tests this; it is written after Microsoft's pages on job objects and JOBOBJECT_EXTENDED_LIMIT_
INFORMATION. Where the system refuses, the process runs without these limits.
"""

from __future__ import annotations

import sys

if sys.platform == "win32":
    import ctypes
    from ctypes import wintypes

    _EXTENDED_LIMITS = 9  # JobObjectExtendedLimitInformation
    _LIMIT_PROCESS_MEMORY = 0x100
    _KILL_ON_JOB_CLOSE = 0x2000
    _TERMINATE_AND_SET_QUOTA = 0x0001 | 0x0100

    class _BasicLimits(ctypes.Structure):
        _fields_ = (
            ("PerProcessUserTimeLimit", wintypes.LARGE_INTEGER),
            ("PerJobUserTimeLimit", wintypes.LARGE_INTEGER),
            ("LimitFlags", wintypes.DWORD),
            ("MinimumWorkingSetSize", ctypes.c_size_t),
            ("MaximumWorkingSetSize", ctypes.c_size_t),
            ("ActiveProcessLimit", wintypes.DWORD),
            ("Affinity", ctypes.c_size_t),
            ("PriorityClass", wintypes.DWORD),
            ("SchedulingClass", wintypes.DWORD),
        )

    class _ExtendedLimits(ctypes.Structure):
        _fields_ = (
            ("BasicLimitInformation", _BasicLimits),
            ("IoInfo", ctypes.c_ulonglong * 6),
            ("ProcessMemoryLimit", ctypes.c_size_t),
            ("JobMemoryLimit", ctypes.c_size_t),
            ("PeakProcessMemoryUsed", ctypes.c_size_t),
            ("PeakJobMemoryUsed", ctypes.c_size_t),
        )

    def put_into_job(process: int, memory_bytes: int) -> int | None:
        """Bind a process to a job of its own; the handle must be kept, since the process ends when it is closed."""
        kernel = ctypes.WinDLL("kernel32", use_last_error=True)
        kernel.CreateJobObjectW.restype = kernel.OpenProcess.restype = wintypes.HANDLE
        kernel.OpenProcess.argtypes = (wintypes.DWORD, wintypes.BOOL, wintypes.DWORD)
        kernel.AssignProcessToJobObject.argtypes = (wintypes.HANDLE, wintypes.HANDLE)
        kernel.SetInformationJobObject.argtypes = (wintypes.HANDLE, ctypes.c_int, ctypes.c_void_p, wintypes.DWORD)
        kernel.CloseHandle.argtypes = (wintypes.HANDLE,)
        limits = _ExtendedLimits()
        limits.BasicLimitInformation.LimitFlags = _LIMIT_PROCESS_MEMORY | _KILL_ON_JOB_CLOSE
        limits.ProcessMemoryLimit = memory_bytes
        job: int | None = kernel.CreateJobObjectW(None, None)
        opened = kernel.OpenProcess(_TERMINATE_AND_SET_QUOTA, False, process)
        if job is None or opened is None:
            return None
        kernel.SetInformationJobObject(job, _EXTENDED_LIMITS, ctypes.byref(limits), ctypes.sizeof(limits))
        kernel.AssignProcessToJobObject(job, opened)
        kernel.CloseHandle(opened)
        return job

    def close_job(job: int) -> None:
        """Close a job, by which its process ends."""
        kernel = ctypes.WinDLL("kernel32")
        kernel.CloseHandle.argtypes = (wintypes.HANDLE,)
        kernel.CloseHandle(job)
