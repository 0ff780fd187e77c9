"""How hard the program is to break: damaged files of every kind against its doors.

Run: python tests/bench/blows.py SECONDS [KIND ...] [--seed N] [--keep FOLDER] [--hang S]

Half of the blows know the grammar of what they damage, half know only bytes; each follows from
its seed. Printed for every kind: blows, how many were taken and how many refused in a sentence,
the slowest, the most memory that one added, and what broke, with its seed. What broke is kept as
files, made smaller, in FOLDER (tests/data/blows is the corpus that the tests go through).
"""

import argparse
import logging
import sys
import time
import warnings
from pathlib import Path

sys.path.insert(0, str(Path(__file__).parents[2]))

from tests.blows import campaign
from tests.blows.corpus import CORPUS, collect
from tests.blows.seeds import KINDS


def main() -> None:
    """Strike, and print."""
    arguments = argparse.ArgumentParser(description=__doc__)
    arguments.add_argument("seconds", type=float)
    arguments.add_argument("kinds", nargs="*", metavar="KIND")
    arguments.add_argument("--seed", type=int, default=int(time.time()))
    arguments.add_argument("--keep", type=Path)
    arguments.add_argument("--corpus", action="store_true", help="write the tests' corpus anew")
    arguments.add_argument(
        "--hang", type=float, default=campaign.HANG_S, help="seconds that a blow may take"
    )
    wish = arguments.parse_args()
    if unknown := [kind for kind in wish.kinds if kind not in KINDS]:
        arguments.error(f"no kind {unknown[0]!r}: {', '.join(KINDS)}")
    campaign.HANG_S = wish.hang
    warnings.simplefilter("ignore")
    logging.disable(logging.CRITICAL)
    if wish.corpus:
        print(f"{collect(wish.seconds, wish.seed)} files in {CORPUS}")
        return
    kinds = wish.kinds or [*KINDS]
    print(f"seed {wish.seed}")
    blows = broken = 0
    for kind in kinds:
        share_s = wish.seconds / len(kinds)
        struck, tally = [*campaign.campaign(kind, share_s, wish.seed, wish.keep)][-1]
        blows, broken = blows + struck, broken + len(tally.failures)
        print(
            f"{kind:9} {struck:6} blows: {tally.taken} taken, {tally.refused} refused, slowest "
            f"{tally.slowest_s:.1f} s, at most {tally.most_mb:.0f} MB more, "
            f"{len(tally.failures)} broke",
            flush=True,
        )
        for failure in tally.failures:
            print(f"  seed {failure.seed} {failure.name}: {failure.what}", flush=True)
    print(f"{blows} blows, {broken} broke")
    sys.exit(1 if broken else 0)


if __name__ == "__main__":
    main()
