//! Making a sandbox on request.

use super::SandboxInput;
use super::answer::SandboxAnswer;
use super::make::make;
use crate::app::App;
use crate::auth::Principal;
use crate::error::Problem;
use crate::services::write::KeptKey;
use crate::web::reply::Reply;
use crate::web::write::WriteRequest;

/// Makes a sandbox and keeps it; on trial everything is made and thrown away. The answer is kept with the sandbox, and nowhere else,
/// for its tokens are in it.
///
/// # Errors
/// 422 with every fault; 409 where there may be none, no further one, or one of that seed and date is there.
pub async fn create(
    app: &App,
    principal: &Principal,
    request: &WriteRequest,
) -> Result<Reply, Problem> {
    let given = request.idempotency.as_ref();
    let key = given.filter(|_| !request.dry_run);
    let key = key.map(|key| KeptKey::new(key, principal));
    if let Some(reply) = key
        .as_ref()
        .map(|key| app.sandboxes.answer_again(key))
        .transpose()?
        .flatten()
    {
        return Ok(reply);
    }
    let wanted = request.json_or_default::<SandboxInput>()?.check(app)?;
    let turn = app.sandboxes.turn()?;
    app.sandboxes.room_for(wanted, app.clock.now())?;
    let made = make(wanted, turn).await?;
    let (sandbox, answer) = SandboxAnswer::of(made, app.clock.now())?;
    let reply = Reply {
        location: Some(format!("/v1/clubs/{}", sandbox.id)),
        ..Reply::json(201, &answer)?
    };
    if !request.dry_run {
        let answer = key.map(|key| (key, reply.clone()));
        app.sandboxes.keep(sandbox.answered(answer));
    }
    Ok(reply)
}
