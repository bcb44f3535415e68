//! What a coach of the whole club reads: a day, a week, a squad's list.

use serde_json::Value;

use crate::answer::Answer;
use crate::club::{Athlete, Squad};

impl Athlete {
    /// Loads of these days, as answered.
    pub async fn load(&self, from: &str, to: &str) -> Answer {
        let coach = self.club().as_role("coach");
        let load = coach.get(format!("athletes/{}/load", self.id()));
        load.query("from", from).query("to", to).await.expect(200)
    }

    /// The figures of one day.
    pub async fn day_figures(&self, date: &str) -> Value {
        let answer = self.load(date, date).await;
        assert_eq!(
            answer["days"].as_array().map(Vec::len),
            Some(1),
            "{}",
            answer.text()
        );
        answer["days"][0].clone()
    }

    /// The figures of one ISO week that is over.
    pub async fn week_figures(&self, week: &str) -> Value {
        let coach = self.club().as_role("coach");
        let weeks = coach.get(format!("athletes/{}/weeks", self.id()));
        let answer = weeks
            .query("from", week)
            .query("to", week)
            .await
            .expect(200);
        assert_eq!(
            answer["weeks"].as_array().map(Vec::len),
            Some(1),
            "{}",
            answer.text()
        );
        assert_eq!(answer["weeks"][0]["week"], week);
        answer["weeks"][0].clone()
    }
}

impl Squad {
    /// The weekly list.
    pub async fn weekly_list(&self, week: &str) -> Answer {
        let coach = self.club().as_role("coach");
        let list = coach.get(format!("squads/{}/weeks/{week}", self.id()));
        list.await.expect(200)
    }
}
