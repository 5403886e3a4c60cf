"""The best voice this machine has, and what is missing for a better one."""

from collections.abc import Callable

from companion.errors import VoiceError
from companion.ports.clock import Clock
from companion.ports.sound import Samples
from companion.ports.voice import Voice
from companion.voice.cache import cache_folder
from companion.voice.output import Loudspeaker
from companion.voice.process import SpeechProcess
from companion.voice.pyttsx3_voice import Pyttsx3Voice
from companion.voice.text_voice import AT_ONCE, TextVoice

WORDS_PER_MINUTE = 165
"""Near the rate of clear, conversational English (about 150 to 170; common practice)."""


def open_voice(
    language: str, clock: Clock, *, aloud: bool = True, device: str | None = None, rate: int = WORDS_PER_MINUTE
) -> tuple[Voice, list[str]]:
    """A voice for `language` (BCP 47), and a sentence for each thing missing, with what installs it.

    Never raises for a missing part: the voice is then text alone. `aloud=False` asks for text alone. `device` is a
    loudspeaker's number or a part of its name; `rate` is in words a minute.
    """
    if not aloud:
        return TextVoice(clock, AT_ONCE), []
    missing: list[str] = []
    process: SpeechProcess | None = None
    loudspeaker: Loudspeaker | None = None
    try:
        process = SpeechProcess(language, rate)
    except VoiceError as fault:
        missing.append(f"{fault}; prompts are on the screen only")
    try:
        loudspeaker = Loudspeaker(clock, device)
    except VoiceError as fault:
        missing.append(f"{fault}; prompts are on the screen only")
    if process is not None and loudspeaker is not None:
        try:
            return Pyttsx3Voice(process, clock, loudspeaker, cache_folder()), []
        except OSError as fault:
            missing.append(f"the voice has nowhere to put its sound files ({fault}); prompts are on the screen only")
    if process is not None:
        process.close()
    if loudspeaker is not None:
        loudspeaker.close()
    return TextVoice(clock, AT_ONCE), missing


def echo_reference(voice: Voice) -> Callable[[], Samples] | None:
    """Where to ask what `voice` has just played (for cancelling its echo); None for a voice without sound."""
    return voice.played if isinstance(voice, Pyttsx3Voice) else None
