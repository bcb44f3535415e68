//! A certificate authority of our own, for receivers that speak TLS.

use std::path::Path;
use std::sync::Arc;

use rcgen::{BasicConstraints, CertificateParams, IsCa, Issuer, KeyPair};
use tokio_rustls::TlsAcceptor;
use tokio_rustls::rustls::ServerConfig;
use tokio_rustls::rustls::pki_types::PrivateKeyDer;

/// Certifies whatever it is asked to.
pub struct Authority {
    issuer: Issuer<'static, KeyPair>,
    root: String,
}

impl Authority {
    /// One that nobody knows yet.
    #[expect(clippy::new_without_default, reason = "each is another")]
    pub fn new() -> Self {
        let mut parameters = CertificateParams::new(Vec::new()).expect("no names");
        parameters.is_ca = IsCa::Ca(BasicConstraints::Unconstrained);
        let key = KeyPair::generate().expect("a key");
        let root = parameters.self_signed(&key).expect("a certificate").pem();
        Self {
            issuer: Issuer::new(parameters, key),
            root,
        }
    }

    /// Writes its root to a file, for programs that are to trust it (`SSL_CERT_FILE`).
    pub fn publish(&self, file: &Path) {
        std::fs::write(file, &self.root).expect("a file");
    }

    /// Somebody with a certificate for this host name that is good until the year 4096.
    pub fn certify(&self, host: &str) -> TlsAcceptor {
        self.sign(CertificateParams::new(vec![host.to_owned()]).expect("a name"))
    }

    /// As `certify`, with a certificate that has expired.
    pub fn certify_until_2020(&self, host: &str) -> TlsAcceptor {
        let mut parameters = CertificateParams::new(vec![host.to_owned()]).expect("a name");
        parameters.not_after = rcgen::date_time_ymd(2020, 1, 1);
        self.sign(parameters)
    }

    fn sign(&self, parameters: CertificateParams) -> TlsAcceptor {
        let key = KeyPair::generate().expect("a key");
        let certificate = parameters
            .signed_by(&key, &self.issuer)
            .expect("a certificate");
        let key = PrivateKeyDer::try_from(key.serialize_der()).expect("a key");
        let config = ServerConfig::builder()
            .with_no_client_auth()
            .with_single_cert(vec![certificate.der().clone()], key);
        TlsAcceptor::from(Arc::new(config.expect("a certificate with its key")))
    }
}
