"""Operations that random requests may never get accepted, each with its reason. The list may only shrink, and `AT_MOST` is lowered with it;
it grows only by what a setting leaves off."""

MAY_BE_NEVER_ACCEPTED = {
    "open_page": "the link is signed; no random text is one",
    "acknowledge_on_page": "takes the cookie that a signed link is exchanged for",
    "approve_notice_endpoint": "a recipient of mail is approved by another person than the one who entered it, and the caller is one person",
    "create_sandbox": "the program makes none here: the settings do not allow it, as they are shipped",
    "delete_sandbox": "there is none",
    "read_clock": "a live club has none",
    "put_clock": "a live club has none",
}

AT_MOST = 7
