"""Write the published schema of the car file anew: docs/schema/car-file.schema.json."""

import json
from pathlib import Path

from shutline.car.schema import car_file_schema


def main() -> None:
    """Write it beside the other documents."""
    path = Path(__file__).resolve().parents[1] / "docs/schema/car-file.schema.json"
    path.parent.mkdir(exist_ok=True)
    path.write_text(json.dumps(car_file_schema(), indent=2, ensure_ascii=False) + "\n", encoding="utf-8", newline="\n")
    print(path)


if __name__ == "__main__":
    main()
