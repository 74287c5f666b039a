//! Message digests: MD5, SHA-1, SHA-256, each from its own crate.

use md5::Md5;
use sha1::Sha1;
use sha2::{Digest as _, Sha256};

/// The longest digest here, in bytes.
pub(super) const LONGEST: usize = 32;

/// Which digest.
#[derive(Clone, Copy, Debug, PartialEq, Eq, Hash)]
pub(super) enum DigestKind {
    Md5,
    Sha1,
    Sha256,
}

impl DigestKind {
    pub(super) const ALL: [DigestKind; 3] = [DigestKind::Md5, DigestKind::Sha1, DigestKind::Sha256];

    pub(super) fn name(self) -> &'static str {
        match self {
            DigestKind::Md5 => "md5",
            DigestKind::Sha1 => "sha1",
            DigestKind::Sha256 => "sha256",
        }
    }

    pub(super) fn about(self) -> &'static str {
        match self {
            DigestKind::Md5 => {
                "MD5 (RFC 1321), 128 bits; finds accidents, does not protect against forged data"
            }
            DigestKind::Sha1 => {
                "SHA-1 (FIPS 180-4), 160 bits; finds accidents, does not protect against forged data"
            }
            DigestKind::Sha256 => "SHA-256 (FIPS 180-4), 256 bits",
        }
    }

    pub(super) fn bits(self) -> u16 {
        match self {
            DigestKind::Md5 => 128,
            DigestKind::Sha1 => 160,
            DigestKind::Sha256 => 256,
        }
    }

    pub(super) fn start(self) -> Hashing {
        match self {
            DigestKind::Md5 => Hashing::Md5(Md5::new()),
            DigestKind::Sha1 => Hashing::Sha1(Sha1::new()),
            DigestKind::Sha256 => Hashing::Sha256(Sha256::new()),
        }
    }
}

/// A digest under way.
#[derive(Clone)]
pub(super) enum Hashing {
    Md5(Md5),
    Sha1(Sha1),
    Sha256(Sha256),
}

impl Hashing {
    pub(super) fn feed(&mut self, bytes: &[u8]) {
        match self {
            Hashing::Md5(hash) => hash.update(bytes),
            Hashing::Sha1(hash) => hash.update(bytes),
            Hashing::Sha256(hash) => hash.update(bytes),
        }
    }

    /// The digest, with zeros after a short one.
    pub(super) fn finish(self) -> [u8; LONGEST] {
        let mut digest = [0; LONGEST];
        match self {
            Hashing::Md5(hash) => digest[..16].copy_from_slice(&hash.finalize()),
            Hashing::Sha1(hash) => digest[..20].copy_from_slice(&hash.finalize()),
            Hashing::Sha256(hash) => digest.copy_from_slice(&hash.finalize()),
        }
        digest
    }
}
