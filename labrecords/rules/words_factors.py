"""Answers to a second factor that was shown, or was not."""

from .words import Words, refusal

YOU = "You."

WORDS: dict[str, Words] = {
    "factor-missing": refusal(
        "the second factor was not shown",
        "Who has a second factor shows it together with the password.",
        YOU,
        "Type the code that your authenticator app shows now, or use your passkey.",
    ),
    "wrong-code": refusal(
        "the code is not right",
        "A code holds for half a minute, and one step before and after.",
        YOU,
        "Type the code that your app shows now. If it is never taken, set the telephone's clock by the network.",
    ),
    "used-code": refusal(
        "the code was used already",
        "Each code is taken once, so that nobody uses what they saw you type.",
        YOU,
        "Wait for the next code.",
    ),
    "wrong-passkey": refusal(
        "the passkey was not taken",
        "A passkey answers a fresh question, at this address, with one of your own keys, and asks who you are.",
        YOU,
        "Try again on a fresh page. Use a passkey that is listed under Signing in.",
    ),
    "passkey-counter": refusal(
        "the passkey's counter went back",
        "A passkey counts its signatures upwards; one that counts back may be a copy.",
        "The lab manager.",
        "Tell the lab manager, end this passkey, and add another second factor.",
    ),
    "factor-unreadable": refusal(
        "the app's secret cannot be read any more",
        "The secret is kept under the installation's own key.",
        "The lab manager.",
        "Use a passkey or a recovery code, or ask the lab manager to end the app, and add it anew.",
    ),
    "code-wait": refusal(
        "there were many tries that failed",
        "Guessing at codes is made slow.",
        "Nobody; the wait ends by itself.",
        "Wait, then try again.",
    ),
    "factor-ended": refusal(
        "this has ended",
        "A second factor, or a recovery code, ends once and stays ended.",
        "Nobody.",
        "Add another one.",
    ),
    "badge-ended": refusal(
        "the badge has ended",
        "A badge ends once and stays ended.",
        "Its owner.",
        "Make another one under Signing in.",
    ),
}
