//! The CRCs of the RevEng catalogue, by name.
//!
//! Source: Greg Cook, *Catalogue of parametrised CRC algorithms* (RevEng), as carried by the crate
//! `crc-catalog` 2.5.0. The crate has the parameters as constants and no list of names, so the
//! names are here, in the catalogue's spelling but lower case, by width and then by name.

use crc_catalog::*;

/// One CRC of the catalogue.
pub(super) struct ListedCrc {
    /// Its catalogue name in lower case, such as `crc-32/iso-hdlc`.
    pub(super) name: &'static str,
    /// Its parameters.
    pub(super) model: Parameters,
}

/// The parameters of a CRC, in the narrowest register that is wide enough.
pub(super) enum Parameters {
    Bits8(&'static Algorithm<u8>),
    Bits16(&'static Algorithm<u16>),
    Bits32(&'static Algorithm<u32>),
    Bits64(&'static Algorithm<u64>),
    Bits128(&'static Algorithm<u128>),
}

impl Parameters {
    /// The parameters in one type, whatever the register.
    pub(super) fn widened(&self) -> Algorithm<u128> {
        match *self {
            Parameters::Bits8(a) => widen(a),
            Parameters::Bits16(a) => widen(a),
            Parameters::Bits32(a) => widen(a),
            Parameters::Bits64(a) => widen(a),
            Parameters::Bits128(a) => *a,
        }
    }
}

fn widen<W: Width + Copy + Into<u128>>(a: &Algorithm<W>) -> Algorithm<u128> {
    Algorithm {
        width: a.width,
        poly: a.poly.into(),
        init: a.init.into(),
        refin: a.refin,
        refout: a.refout,
        xorout: a.xorout.into(),
        check: a.check.into(),
        residue: a.residue.into(),
    }
}

/// Where the CRC of this name is in [`CATALOGUE`]; a wrong name does not compile.
pub(super) const fn position(name: &str) -> u8 {
    let mut at = 0;
    while at < CATALOGUE.len() {
        if same(CATALOGUE[at].name.as_bytes(), name.as_bytes()) {
            return at as u8;
        }
        at += 1;
    }
    panic!("no CRC of this name in the catalogue")
}

/// `==` on slices, which a `const fn` cannot use yet.
const fn same(a: &[u8], b: &[u8]) -> bool {
    if a.len() != b.len() {
        return false;
    }
    let mut i = 0;
    while i < a.len() {
        if a[i] != b[i] {
            return false;
        }
        i += 1;
    }
    true
}

const fn c8(name: &'static str, algorithm: &'static Algorithm<u8>) -> ListedCrc {
    ListedCrc {
        name,
        model: Parameters::Bits8(algorithm),
    }
}

const fn c16(name: &'static str, algorithm: &'static Algorithm<u16>) -> ListedCrc {
    ListedCrc {
        name,
        model: Parameters::Bits16(algorithm),
    }
}

const fn c32(name: &'static str, algorithm: &'static Algorithm<u32>) -> ListedCrc {
    ListedCrc {
        name,
        model: Parameters::Bits32(algorithm),
    }
}

const fn c64(name: &'static str, algorithm: &'static Algorithm<u64>) -> ListedCrc {
    ListedCrc {
        name,
        model: Parameters::Bits64(algorithm),
    }
}

const fn c128(name: &'static str, algorithm: &'static Algorithm<u128>) -> ListedCrc {
    ListedCrc {
        name,
        model: Parameters::Bits128(algorithm),
    }
}

/// Every CRC of the catalogue.
pub(super) static CATALOGUE: [ListedCrc; 113] = [
    c8("crc-3/gsm", &CRC_3_GSM),
    c8("crc-3/rohc", &CRC_3_ROHC),
    c8("crc-4/g-704", &CRC_4_G_704),
    c8("crc-4/interlaken", &CRC_4_INTERLAKEN),
    c8("crc-5/epc-c1g2", &CRC_5_EPC_C1G2),
    c8("crc-5/g-704", &CRC_5_G_704),
    c8("crc-5/usb", &CRC_5_USB),
    c8("crc-6/cdma2000-a", &CRC_6_CDMA2000_A),
    c8("crc-6/cdma2000-b", &CRC_6_CDMA2000_B),
    c8("crc-6/darc", &CRC_6_DARC),
    c8("crc-6/g-704", &CRC_6_G_704),
    c8("crc-6/gsm", &CRC_6_GSM),
    c8("crc-7/mmc", &CRC_7_MMC),
    c8("crc-7/rohc", &CRC_7_ROHC),
    c8("crc-7/umts", &CRC_7_UMTS),
    c8("crc-8/autosar", &CRC_8_AUTOSAR),
    c8("crc-8/bluetooth", &CRC_8_BLUETOOTH),
    c8("crc-8/cdma2000", &CRC_8_CDMA2000),
    c8("crc-8/darc", &CRC_8_DARC),
    c8("crc-8/dvb-s2", &CRC_8_DVB_S2),
    c8("crc-8/gsm-a", &CRC_8_GSM_A),
    c8("crc-8/gsm-b", &CRC_8_GSM_B),
    c8("crc-8/hitag", &CRC_8_HITAG),
    c8("crc-8/i-432-1", &CRC_8_I_432_1),
    c8("crc-8/i-code", &CRC_8_I_CODE),
    c8("crc-8/lte", &CRC_8_LTE),
    c8("crc-8/maxim-dow", &CRC_8_MAXIM_DOW),
    c8("crc-8/mifare-mad", &CRC_8_MIFARE_MAD),
    c8("crc-8/nrsc-5", &CRC_8_NRSC_5),
    c8("crc-8/opensafety", &CRC_8_OPENSAFETY),
    c8("crc-8/rohc", &CRC_8_ROHC),
    c8("crc-8/sae-j1850", &CRC_8_SAE_J1850),
    c8("crc-8/smbus", &CRC_8_SMBUS),
    c8("crc-8/tech-3250", &CRC_8_TECH_3250),
    c8("crc-8/wcdma", &CRC_8_WCDMA),
    c16("crc-10/atm", &CRC_10_ATM),
    c16("crc-10/cdma2000", &CRC_10_CDMA2000),
    c16("crc-10/gsm", &CRC_10_GSM),
    c16("crc-11/flexray", &CRC_11_FLEXRAY),
    c16("crc-11/umts", &CRC_11_UMTS),
    c16("crc-12/cdma2000", &CRC_12_CDMA2000),
    c16("crc-12/dect", &CRC_12_DECT),
    c16("crc-12/gsm", &CRC_12_GSM),
    c16("crc-12/umts", &CRC_12_UMTS),
    c16("crc-13/bbc", &CRC_13_BBC),
    c16("crc-14/darc", &CRC_14_DARC),
    c16("crc-14/gsm", &CRC_14_GSM),
    c16("crc-15/can", &CRC_15_CAN),
    c16("crc-15/mpt1327", &CRC_15_MPT1327),
    c16("crc-16/arc", &CRC_16_ARC),
    c16("crc-16/cdma2000", &CRC_16_CDMA2000),
    c16("crc-16/cms", &CRC_16_CMS),
    c16("crc-16/dds-110", &CRC_16_DDS_110),
    c16("crc-16/dect-r", &CRC_16_DECT_R),
    c16("crc-16/dect-x", &CRC_16_DECT_X),
    c16("crc-16/dnp", &CRC_16_DNP),
    c16("crc-16/en-13757", &CRC_16_EN_13757),
    c16("crc-16/genibus", &CRC_16_GENIBUS),
    c16("crc-16/gsm", &CRC_16_GSM),
    c16("crc-16/ibm-3740", &CRC_16_IBM_3740),
    c16("crc-16/ibm-sdlc", &CRC_16_IBM_SDLC),
    c16("crc-16/iso-iec-14443-3-a", &CRC_16_ISO_IEC_14443_3_A),
    c16("crc-16/kermit", &CRC_16_KERMIT),
    c16("crc-16/lj1200", &CRC_16_LJ1200),
    c16("crc-16/m17", &CRC_16_M17),
    c16("crc-16/maxim-dow", &CRC_16_MAXIM_DOW),
    c16("crc-16/mcrf4xx", &CRC_16_MCRF4XX),
    c16("crc-16/modbus", &CRC_16_MODBUS),
    c16("crc-16/nrsc-5", &CRC_16_NRSC_5),
    c16("crc-16/opensafety-a", &CRC_16_OPENSAFETY_A),
    c16("crc-16/opensafety-b", &CRC_16_OPENSAFETY_B),
    c16("crc-16/profibus", &CRC_16_PROFIBUS),
    c16("crc-16/riello", &CRC_16_RIELLO),
    c16("crc-16/spi-fujitsu", &CRC_16_SPI_FUJITSU),
    c16("crc-16/t10-dif", &CRC_16_T10_DIF),
    c16("crc-16/teledisk", &CRC_16_TELEDISK),
    c16("crc-16/tms37157", &CRC_16_TMS37157),
    c16("crc-16/umts", &CRC_16_UMTS),
    c16("crc-16/usb", &CRC_16_USB),
    c16("crc-16/xmodem", &CRC_16_XMODEM),
    c32("crc-17/can-fd", &CRC_17_CAN_FD),
    c32("crc-21/can-fd", &CRC_21_CAN_FD),
    c32("crc-24/ble", &CRC_24_BLE),
    c32("crc-24/flexray-a", &CRC_24_FLEXRAY_A),
    c32("crc-24/flexray-b", &CRC_24_FLEXRAY_B),
    c32("crc-24/interlaken", &CRC_24_INTERLAKEN),
    c32("crc-24/lte-a", &CRC_24_LTE_A),
    c32("crc-24/lte-b", &CRC_24_LTE_B),
    c32("crc-24/openpgp", &CRC_24_OPENPGP),
    c32("crc-24/os-9", &CRC_24_OS_9),
    c32("crc-30/cdma", &CRC_30_CDMA),
    c32("crc-31/philips", &CRC_31_PHILIPS),
    c32("crc-32/aixm", &CRC_32_AIXM),
    c32("crc-32/autosar", &CRC_32_AUTOSAR),
    c32("crc-32/base91-d", &CRC_32_BASE91_D),
    c32("crc-32/bzip2", &CRC_32_BZIP2),
    c32("crc-32/cd-rom-edc", &CRC_32_CD_ROM_EDC),
    c32("crc-32/cksum", &CRC_32_CKSUM),
    c32("crc-32/iscsi", &CRC_32_ISCSI),
    c32("crc-32/iso-hdlc", &CRC_32_ISO_HDLC),
    c32("crc-32/jamcrc", &CRC_32_JAMCRC),
    c32("crc-32/mef", &CRC_32_MEF),
    c32("crc-32/mpeg-2", &CRC_32_MPEG_2),
    c32("crc-32/xfer", &CRC_32_XFER),
    c64("crc-40/gsm", &CRC_40_GSM),
    c64("crc-64/ecma-182", &CRC_64_ECMA_182),
    c64("crc-64/go-iso", &CRC_64_GO_ISO),
    c64("crc-64/ms", &CRC_64_MS),
    c64("crc-64/nvme", &CRC_64_NVME),
    c64("crc-64/redis", &CRC_64_REDIS),
    c64("crc-64/we", &CRC_64_WE),
    c64("crc-64/xz", &CRC_64_XZ),
    c128("crc-82/darc", &CRC_82_DARC),
];

#[cfg(test)]
mod tests {
    use super::*;

    /// The table's own lines, as (name, constant).
    fn lines() -> Vec<(&'static str, &'static str)> {
        include_str!("catalogue.rs")
            .lines()
            .filter_map(|line| line.strip_prefix("    c")?.split_once("(\""))
            .filter_map(|(_, rest)| rest.strip_suffix("),")?.split_once("\", &"))
            .collect()
    }

    #[test]
    fn every_name_stands_beside_its_own_constant() {
        let lines = lines();
        assert_eq!(lines.len(), CATALOGUE.len());
        for (entry, (name, constant)) in CATALOGUE.iter().zip(lines) {
            assert_eq!(entry.name, name);
            let expected = name.to_uppercase().replace(['-', '/'], "_");
            assert_eq!(constant, expected, "beside {name}");
        }
    }

    /// `crc-catalog` 2.5.0 has 113 `pub const CRC_` lines in `src/algorithm.rs`, and this table
    /// has as many, all different. Should another version be locked, count again there.
    #[test]
    fn the_whole_catalogue_is_here() {
        let lock = include_str!("../../Cargo.lock").replace("\r\n", "\n");
        assert!(
            lock.contains("name = \"crc-catalog\"\nversion = \"2.5.0\"\n"),
            "another crc-catalog is locked: compare its list of constants with this table"
        );
        let mut names: Vec<_> = CATALOGUE.iter().map(|entry| entry.name).collect();
        names.sort_unstable();
        names.dedup();
        assert_eq!(names.len(), 113);
    }

    #[test]
    fn a_name_says_the_width() {
        for entry in &CATALOGUE {
            let width = entry.model.widened().width;
            assert!(
                entry.name.starts_with(&format!("crc-{width}/")),
                "{} has {width} bits",
                entry.name
            );
        }
    }
}
