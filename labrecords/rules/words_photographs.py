"""Answers to photographs of strips."""

from .words import Words, refusal

WORDS: dict[str, Words] = {
    "photograph-too-early": refusal(
        "there is no result to attach it to",
        "A photograph shows how a strip came apart, and is kept with its result.",
        "You.",
        "Enter the result first, then attach the photograph.",
    ),
    "photograph-unreadable": refusal(
        "this is no photograph that can be kept",
        "A photograph is a JPEG or a PNG that can be decoded, of 15 MB and 40 million pixels at most.",
        "You.",
        "Take it again, or save it as JPEG, and send that.",
    ),
    "photograph-kept": refusal(
        "this photograph is here already",
        "The same bytes are attached once: one photograph does not show two strips.",
        "Whoever may enter a result, by setting the first one aside with a reason.",
        "Look at the specimen that is named. If it was attached there in error, set it aside, and attach it again.",
    ),
}
