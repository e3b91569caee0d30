"""``python -m tests.species.second_reading <group>``: every difference of a second reading that is not resolved.

``--fill`` writes ``agreed`` into the rows where nothing differs.
"""

import argparse
import csv

from tests.species.second_reading.sheets import FIELDS, FOLDER, difference, profile_of, rooms, rows_of


def main():
    parser = argparse.ArgumentParser(description="Compare a second reading with the profiles.")
    parser.add_argument("room", choices=rooms())
    parser.add_argument("--fill", action="store_true", help="write 'agreed' where nothing differs")
    asked = parser.parse_args()
    rows = rows_of(asked.room)
    for number, row in enumerate(rows, start=2):
        profile = profile_of(row["profile"])
        if profile is None:
            print(f"{number}: no profile of {row['profile']}")
            continue
        told = difference(row, profile)
        if told is None and not row["resolution"] and asked.fill:
            row["resolution"] = "agreed"
        elif told is not None and not row["resolution"]:
            day = f" day {row['day']}" if row["day"] else ""
            print(f"{number}: {row['profile']} {row['field']}{day}: {told}  <{row['locator']}>")
    if asked.fill:
        with (FOLDER / f"{asked.room}.csv").open("w", newline="", encoding="utf-8") as out:
            writer = csv.DictWriter(out, FIELDS, lineterminator="\n")
            writer.writeheader()
            writer.writerows(rows)


if __name__ == "__main__":
    main()
