"""The process that decodes untrusted pictures, one at a time, under hard limits.

It is started by ``decoder``, reads one JSON job a line from standard input and answers with one
JSON line on its own copy of standard output. The operating system holds it to its memory and
processor time; when it breaks them it dies, and only the one photo is refused. It imports neither
Django nor WeasyPrint.
"""

import ctypes
import json
import os
import resource
import select
import sys
import threading

from readiness import disk
from readiness.photos import pixels
from readiness.photos.limits import DISK_FULL, MEBIBYTE, Limits


def main() -> None:
    answers = os.fdopen(os.dup(1), "w", encoding="utf-8")
    os.dup2(2, 1)  # whatever a C library prints must not land between the answers
    limits = Limits(**json.loads(sys.argv[1]))
    pixels.prepare_libraries(limits)
    confine(limits)
    threading.Thread(target=stop_with_the_server, daemon=True).start()
    for line in sys.stdin:
        allow_processor_time(limits.seconds)
        answers.write(json.dumps(run(json.loads(line), limits)) + "\n")
        answers.flush()
        give_memory_back()


def stop_with_the_server() -> None:
    """Wait for the other end of standard input to close, and stop at once, whatever is under way.

    When the server was killed nobody waits for the answer any more, and the slot on this machine
    is free for another.
    """
    waiting = select.poll()
    waiting.register(0, 0)  # no events but those that are always told: hung up, or an error
    waiting.poll()
    os._exit(0)


def give_memory_back() -> None:
    """Hand what a large picture took back to the system; many idle decoders wait on one machine."""
    trim = getattr(ctypes.CDLL(None), "malloc_trim", None)  # the GNU C library has it
    if trim is not None:
        trim(0)


def confine(limits: Limits) -> None:
    """Limit address space, written file size and open files of this process; no core dumps."""
    for what, value in (
        (resource.RLIMIT_AS, limits.memory_bytes),
        (resource.RLIMIT_FSIZE, 64 * MEBIBYTE),
        (resource.RLIMIT_NOFILE, 64),
        (resource.RLIMIT_CORE, 0),
    ):
        resource.setrlimit(what, (value, value))


def allow_processor_time(seconds: int) -> None:
    """From now on, so many more seconds of processor time; then the system stops the process."""
    usage = resource.getrusage(resource.RUSAGE_SELF)
    used = int(usage.ru_utime + usage.ru_stime)
    hard = resource.getrlimit(resource.RLIMIT_CPU)[1]
    resource.setrlimit(resource.RLIMIT_CPU, (used + seconds + 1, hard))


def run(job: dict, limits: Limits) -> dict:
    """Decode ``job["path"]`` and write the sizes beside it; errors are answers, not crashes.

    A job with ``corners`` asks for the joints of brickwork in a picture that is a size already.
    """
    if "corners" in job:
        return found_joints(job)
    try:
        result = pixels.read(
            job["path"], job["kind"], limits, job.get("blurs", ()), fingerprint=job["fingerprint"]
        )
    except pixels.UnreadableError as error:
        return {"problem": error.problem, "details": error.details}
    except MemoryError:
        return {"problem": "too_much_memory", "details": {}}
    try:
        for size in ("large", "small"):
            with open(job[size], "wb") as out:
                out.write(result.pop(size))
    except OSError as error:  # nothing is wrong with the photo
        return {"problem": DISK_FULL if disk.is_full(error) else "storage", "details": {}}
    return result


def found_joints(job: dict) -> dict:
    """Bed joints in the JPEG ``job["path"]`` between ``corners``, and what looks open in them.

    Answers with places as shares of the picture, the number and strip of each, what was counted
    and whether it fits, and, where ``open_too``, four corners of each joint that looks open.
    """
    from readiness.photos import joints, open_joints  # numpy: only who measures pays for it

    try:
        grey, scale = pixels.grey(job["path"])
        corners = joints.scaled(job["corners"], scale)
        found = joints.find(grey, corners, job["courses"])
        is_grid = job["open_too"] and found.fits
        looks_open = open_joints.find(grey, found.grid, job["courses"]) if is_grid else []
    except pixels.UnreadableError as error:
        return {"problem": error.problem, "details": error.details}
    except MemoryError:
        return {"problem": "too_much_memory", "details": {}}
    return {
        "places": (found.places / scale).tolist(),
        "joints": found.joints.tolist(),
        "strips": found.strips.tolist(),
        "counted": found.counted,
        "fits": found.fits,
        "open": [(outline / scale).tolist() for outline in looks_open],
    }
