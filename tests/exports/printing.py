"""Prints a page with chromium, as a browser would on paper."""

import re
import shutil
import subprocess
from pathlib import Path

from tests.realparts import need


def sheets(page: bytes, folder: Path) -> int:
    """How many sheets of A4 (ISO 216: 210 mm by 297 mm, 595 by 842 points) a page takes."""
    chromium = shutil.which("chromium")
    need(chromium is not None, "chromium is missing: apt-get install chromium")
    (folder / "page.html").write_bytes(page)
    command = [str(chromium), "--headless", "--no-sandbox", "--disable-gpu", "--no-pdf-header-footer"]
    command += [f"--user-data-dir={folder}/chromium", f"--print-to-pdf={folder}/page.pdf"]
    subprocess.run([*command, f"file://{folder}/page.html"], check=True, capture_output=True, timeout=120)
    pdf = (folder / "page.pdf").read_bytes()
    boxes = {tuple(map(float, box.split())) for box in re.findall(rb"/MediaBox\s*\[([^\]]*)\]", pdf)}
    assert all(abs(width - 595.3) < 1 and abs(height - 841.9) < 1 for _, _, width, height in boxes)
    return len(re.findall(rb"/Type\s*/Page\b", pdf))
