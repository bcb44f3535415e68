//! What a letter says of an endpoint that is sent nothing more.

use serde::Deserialize;

use super::{Letter, words};
use crate::ids::NoticeEndpointId;
use crate::store::Channel;

/// Which endpoint, and why: what the notice holds of it.
#[derive(Debug, Deserialize)]
pub(crate) struct Disabled {
    endpoint_id: NoticeEndpointId,
    channel: Channel,
    why: String,
}

/// The letter about it. It has no address, since a URL may hold a token.
pub(crate) fn disabled_letter(club_name: &str, disabled: &Disabled) -> Letter {
    let what = match disabled.channel {
        Channel::Webhook => "webhook",
        Channel::Email => "recipient of mail",
    };
    let why = match disabled.why.as_str() {
        "gone" => "answered that nobody is there any more",
        _ => "has taken nothing for five days",
    };
    Letter {
        subject: format!("A {what} of {club_name} was disabled"),
        title: format!("A {what} was disabled"),
        intro: vec![
            format!(
                "{club_name}: the {what} {} {why}. Nothing more is sent to it.",
                disabled.endpoint_id
            ),
            "What there was to tell stays listed. Once the fault is found, a club administrator enables it again \
             and has what was missed sent once more."
                .to_owned(),
        ],
        sections: Vec::new(),
        closing: vec![words::why(club_name)],
    }
}

#[cfg(test)]
mod tests {
    use serde_json::json;

    use super::*;

    #[test]
    fn it_says_which_endpoint_and_why() {
        let id = "0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b";
        for (channel, why, said) in [
            (
                "webhook",
                "gone",
                "the webhook 0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b answered that nobody",
            ),
            (
                "email",
                "failed_for_5_days",
                "the recipient of mail 0199a1b2-7c3d-7e4f-8a5b-6c7d8e9f0a1b has taken nothing for five days",
            ),
        ] {
            let payload = json!({ "endpoint_id": id, "channel": channel, "why": why });
            let text = disabled_letter(
                "Havneby Handball",
                &serde_json::from_value(payload).unwrap(),
            )
            .text();
            assert!(text.contains(said), "{text}");
        }
    }
}
