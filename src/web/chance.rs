//! What nobody can guess and no two pages share: the secret in an address, a form's own mark.

/// 32 letters and digits that nobody can guess: 128 bits from the system's own source of chance.
///
/// # Errors
/// Where the system has no source of chance.
pub fn secret() -> Result<String, getrandom::Error> {
    let mut bytes = [0_u8; 16];
    getrandom::fill(&mut bytes)?;
    Ok(format!("{:032x}", u128::from_be_bytes(bytes)))
}

#[cfg(test)]
mod tests {
    #[test]
    fn no_two_are_the_same() {
        let (one, other) = (super::secret().unwrap(), super::secret().unwrap());
        assert_eq!(one.len(), 32);
        assert_ne!(one, other);
    }
}
