//! Closed lists of the trade (kinds of material, rules, styles): each member has a code for the book and the forms,
//! and a label for the page.

/// What a closed list can do; made by [`choices!`](crate::ground::choice::choices).
pub trait Choice: Copy + PartialEq + 'static {
    /// Every member, in page order.
    const ALL: &'static [Self];
    /// The code in the book and in forms.
    fn code(self) -> &'static str;
    /// What pages call it.
    fn label(self) -> &'static str;

    /// The member with a code.
    fn from_code(code: &str) -> Option<Self> {
        Self::ALL.iter().copied().find(|member| member.code() == code)
    }

    /// Codes and labels of all members, for a select.
    #[must_use]
    fn options() -> Vec<(&'static str, &'static str)> {
        Self::ALL.iter().map(|member| (member.code(), member.label())).collect()
    }
}

/// Makes an enum that is a [`Choice`] and is kept as its code in TEXT columns and in JSON.
macro_rules! choices {
    ($(#[$doc:meta])* $name:ident { $($(#[$member_doc:meta])* $member:ident $code:literal $label:literal)* }) => {
        $(#[$doc])*
        #[derive(Debug, Clone, Copy, PartialEq, Eq, Hash, PartialOrd, Ord, serde::Serialize, serde::Deserialize)]
        pub enum $name {
            $($(#[$member_doc])* #[serde(rename = $code)] $member,)*
        }

        impl $crate::ground::choice::Choice for $name {
            const ALL: &'static [Self] = &[$($name::$member),*];
            fn code(self) -> &'static str {
                match self { $($name::$member => $code),* }
            }
            fn label(self) -> &'static str {
                match self { $($name::$member => $label),* }
            }
        }

        impl sqlx::Type<sqlx::Sqlite> for $name {
            fn type_info() -> sqlx::sqlite::SqliteTypeInfo {
                <String as sqlx::Type<sqlx::Sqlite>>::type_info()
            }
            fn compatible(info: &sqlx::sqlite::SqliteTypeInfo) -> bool {
                <String as sqlx::Type<sqlx::Sqlite>>::compatible(info)
            }
        }

        impl<'r> sqlx::Decode<'r, sqlx::Sqlite> for $name {
            fn decode(value: sqlx::sqlite::SqliteValueRef<'r>) -> Result<Self, sqlx::error::BoxDynError> {
                let code = <&str as sqlx::Decode<sqlx::Sqlite>>::decode(value)?;
                <$name as $crate::ground::choice::Choice>::from_code(code)
                    .ok_or_else(|| format!("{code} is no {}", stringify!($name)).into())
            }
        }

        impl sqlx::Encode<'_, sqlx::Sqlite> for $name {
            fn encode_by_ref(
                &self,
                buffer: &mut sqlx::sqlite::SqliteArgumentsBuffer,
            ) -> Result<sqlx::encode::IsNull, sqlx::error::BoxDynError> {
                let code = $crate::ground::choice::Choice::code(*self);
                <&str as sqlx::Encode<sqlx::Sqlite>>::encode(code, buffer)
            }
        }
    };
}
pub(crate) use choices;
