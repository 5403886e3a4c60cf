"""Agreeing to sound, keeping it and playing it back through the air: `companion guide --keep-sound` with PortAudio,
PulseAudio, the real voice and the real recogniser in one room."""

import subprocess
from pathlib import Path

from companion.record.clips import agreed_tags, clips_of, read_clip
from companion.record.reader import read_record
from tests.commands import companion
from tests.conversation.aloud import REPLIES, answer, guide, need_voices
from tests.soundroom import sound_room

AGREEING = {
    "and then: people here.": "one person here",
    "your staff tag, two digits, one by one.": "four one",
    "say that the tag is wrong.": "i agree to recording",
}


def _reply(line: str) -> str | None:
    return next((said for end, said in AGREEING.items() if line.endswith(end)), REPLIES.get(line[2:]))


def test_a_session_through_the_air_keeps_its_replies(tmp_path: Path) -> None:
    need_voices()
    with sound_room() as room:
        with guide(room, tmp_path, "--keep-sound") as process:
            shown = answer(room, process, _reply)
        assert any(line.startswith("* Everybody agreed") for line in shown), "\n".join(shown)
        asked = "Performer, your staff tag: two digits, one by one."
        assert asked not in {line[2:] for line in shown}, "it is known by now"
        (path,) = (tmp_path / "records").glob("*.jsonl")
        record = read_record(path)
        clips = clips_of(record.entries)
        assert agreed_tags(record.entries) == ("41",) and len(clips) >= 7
        for clip in clips:
            assert abs(read_clip(path, clip)).max() > 500, "somebody is heard in it"

        def said(*words: str) -> "subprocess.CompletedProcess[str]":
            return companion(*words, home=tmp_path, **room.env)

        told = said("replay", str(path)).stdout
        assert "[sound 1, " in told and "Sound: agreed by tag 41" in told and "--play NUMBER" in told
        with room.recording() as heard:
            done = said("replay", str(path), "--play", "2")
        assert done.returncode == 0, done.stderr
        assert abs(heard[0]).max() > 500, "it was really played into the room"
        verified = said("record", "verify", str(path))
        assert verified.returncode == 0 and f"{len(clips)} sound clips whole" in verified.stdout
        wrong = said("replay", str(path), "--play", "99")
        assert wrong.returncode == 1 and f"accepted: 1 to {len(clips)}" in wrong.stderr
        (tmp_path / "records" / f"{path.name}.sound" / "0002.flac").write_bytes(b"fLaC")
        wrong = said("replay", str(path), "--play", "2")
        assert wrong.returncode == 1 and "is missing or was changed" in wrong.stderr
        wrong = said("record", "verify", str(path))
        assert wrong.returncode == 1 and "1 is changed (0002.flac)" in wrong.stdout
        purged = said("record", "purge", str(path), "--yes")
        assert purged.returncode == 0 and list((tmp_path / "records").iterdir()) == [path]
