"""Operations that random requests may never get accepted, each with its reason. The list may only shrink: `AT_MOST` is lowered with it."""

MAY_BE_NEVER_ACCEPTED = {
    "open_page": "the link is signed; no random text is one",
    "acknowledge_on_page": "takes the cookie that a signed link is exchanged for",
    "approve_notice_endpoint": "a recipient of mail is approved by another person than the one who entered it, and the caller is one person",
}

AT_MOST = 3
