"""Puts the core pack's compiled form into the wheel, so that the first start of an installed tool is quick too."""

import sys
import tempfile
from pathlib import Path
from typing import Any

from hatchling.builders.hooks.plugin.interface import BuildHookInterface


class CompileRules(BuildHookInterface):  # type: ignore[type-arg]
    """Compiles the bundled packs when a wheel is built."""

    def initialize(self, version: str, build_data: dict[str, Any]) -> None:
        """Compile each pack into a folder of its own and have the wheel include it."""
        if self.target_name != "wheel" or version == "editable":
            return
        sys.path.insert(0, self.root)
        from troubleshoot.rulebook.packs import keep, read_pack

        where = Path(tempfile.mkdtemp(prefix="compiled-rules-"))
        for folder in sorted((Path(self.root) / "rules").iterdir()):
            if (folder / "pack.yaml").is_file():
                pack = read_pack(folder, fresh=True, placed=False)
                keep(pack, where)
                name = f"{pack.digest}.json"
                build_data["force_include"][str(where / name)] = f"troubleshoot/_data/compiled/{name}"
