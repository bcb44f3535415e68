//! Signatures and names of keys that others published.

use plimsoll_api::auth::keys::{Algorithm, KeySet, PublicKey};
use serde_json::{Value, json};

fn key(mut jwk: Value) -> std::sync::Arc<PublicKey> {
    jwk["kid"] = "k1".into();
    KeySet::parse(json!({ "keys": [jwk] }).to_string().as_bytes())
        .unwrap()
        .get("k1")
        .unwrap()
}

/// Checks a published token, and that it fails once a letter of its payload is changed.
fn assert_signed(key: &PublicKey, algorithm: Algorithm, token: &str) {
    let (message, signature) = token.rsplit_once('.').unwrap();
    assert_eq!(key.algorithm(), algorithm);
    assert!(key.verify(message.as_bytes(), signature));
    let changed = message.replacen(".e", ".f", 1).replacen(".R", ".S", 1);
    assert_ne!(changed, message);
    assert!(!key.verify(changed.as_bytes(), signature));
}

/// The payload of RFC 7515 appendices A.2 and A.3.
const JOE: &str = "eyJpc3MiOiJqb2UiLA0KICJleHAiOjEzMDA4MTkzODAsDQogImh0dHA6Ly9leGFtcGxlLmNvbS9pc19yb290Ijp0cnVlfQ";

#[test]
fn rs256_as_in_rfc_7515_appendix_a_2() {
    let key = key(
        json!({ "kty": "RSA", "e": "AQAB", "n": "ofgWCuLjybRlzo0tZWJjNiuSfb4p4fAkd_wWJcyQoTbji9k0l8W26mPddxHmfHQp-Vaw-4qPCJrcS2mJPMEzP1Pt0Bm4d4QlL-yRT-SFd2lZS-pCgNMsD1W_YpRPEwOWvG6b32690r2jZ47soMZo9wGzjb_7OMg0LOL-bSf63kpaSHSXndS5z5rexMdbBYUsLA9e-KXBdQOS-UTo7WTBEMa2R2CapHg665xsmtdVMTBQY4uDZlxvb3qCo5ZwKh9kG4LT6_I5IhlJH7aGhyxXFvUK-DWNmoudF8NAco9_h9iaGNj8q2ethFkMLs91kzk2PAcDTW9gb54h4FRWyuXpoQ" }),
    );
    let signature = "cC4hiUPoj9Eetdgtv3hF80EGrhuB__dzERat0XF9g2VtQgr9PJbu3XOiZj5RZmh7AAuHIm4Bh-0Qc_lF5YKt_O8W2Fp5jujGbds9uJdbF9CUAr7t1dnZcAcQjbKBYNX4BAynRFdiuB--f_nZLgrnbyTyWzO75vRK5h6xBArLIARNPvkSjtQBMHlb1L07Qe7K0GarZRmB_eSN9383LcOLn6_dO--xi12jzDwusC-eOkHWEsqtFZESc6BfI7noOPqvhJ1phCnvWh6IeYI2w9QOYEUipUTI8np6LbgGY9Fs98rqVt5AXLIhWkWywlVmtVrBp0igcN_IoypGlUPQGe77Rw";
    let token = format!("eyJhbGciOiJSUzI1NiJ9.{JOE}.{signature}");
    assert_signed(&key, Algorithm::Rs256, &token);
}

#[test]
fn es256_as_in_rfc_7515_appendix_a_3() {
    let key = key(json!({
        "kty": "EC",
        "crv": "P-256",
        "x": "f83OJ3D2xF1Bg8vub9tLe1gHMzV76e8Tus9uPHvRVEU",
        "y": "x_FEzRu9m36HLN_tue659LNpXW6pCyStikYjKIWI5a0",
    }));
    let signature =
        "DtEhU3ljbEg8L38VWAfUAqOyKAM6-Xx-F4GawxaepmXFCgfTjDxw5djxLa8ISlSApmWQxfKTUJqPP3-Kg6NU1Q";
    let token = format!("eyJhbGciOiJFUzI1NiJ9.{JOE}.{signature}");
    assert_signed(&key, Algorithm::Es256, &token);
}

/// The public key of RFC 8037 appendix A.2.
fn rfc_8037() -> Value {
    json!({ "kty": "OKP", "crv": "Ed25519", "x": "11qYAYKxCrfVS_7TyWQHOg7hcvPapiMlrwIaaPcHURo" })
}

#[test]
fn eddsa_as_in_rfc_8037_appendix_a_4() {
    let signature =
        "hgyY0il_MGCjP0JzlnLWG1PPOt7-09PGcvMg3AIbQR6dWbhijcNR4ki4iylGjg5BhVsPt9g7sVvpAr_MuM0KAg";
    let token = format!("eyJhbGciOiJFZERTQSJ9.RXhhbXBsZSBvZiBFZDI1NTE5IHNpZ25pbmc.{signature}");
    assert_signed(&key(rfc_8037()), Algorithm::EdDsa, &token);
}

#[test]
fn a_thumbprint_as_in_rfc_8037_appendix_a_3() {
    let thumbprint = key(rfc_8037()).thumbprint();
    assert_eq!(
        thumbprint.as_deref(),
        Some("kPrK_qmxVWaYVA9wwBF6Iuo3vVzz7TxHCTwXBygrS4k")
    );
}
