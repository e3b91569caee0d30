"""``python -m species.packs.check <folder>``: every fault of a pack, without Django; exits 1 on a fault."""

import argparse
import sys
from pathlib import Path

from species.packs.check import check_pack
from species.packs.check.report import check_lines


def main() -> int:
    parser = argparse.ArgumentParser(prog="species.packs.check", description="Check a species pack.")
    parser.add_argument("folder", type=Path, help="the pack's folder, the one that holds pack.toml")
    checked = check_pack(parser.parse_args().folder)
    sys.stdout.writelines(f"{line}\n" for line in check_lines(checked))
    return 1 if checked.pack is None else 0


if __name__ == "__main__":
    raise SystemExit(main())
