//! A saved model to and from text.

use super::{FORMAT, SavedModel, SavedModelError};
use serde_json::{Map, Value};

/// Every field; a model without one of them cannot be taken up again.
const FIELDS: [&str; 16] = [
    "keenspan_model",
    "made_by",
    "family",
    "names",
    "priors",
    "settings",
    "groupings",
    "fingerprint",
    "edges",
    "mode",
    "spreads",
    "information",
    "pull",
    "iterations",
    "draws",
    "health",
];
/// The fields that hold nothing but numbers; other programs write one that is not finite as null.
const NUMBERS: [&str; 5] = ["mode", "spreads", "information", "pull", "draws"];

impl SavedModel {
    /// The model as JSON, one field a line and one draw a line. Numbers are written with as many digits as
    /// they need to come back to the last bit.
    ///
    /// # Errors
    ///
    /// [`SavedModelError::NotFinite`] for numbers that JSON cannot hold.
    pub fn to_text(&self) -> Result<String, SavedModelError> {
        self.check_finite()?;
        let written = serde_json::to_value(self).map_err(|error| SavedModelError::Malformed {
            reason: error.to_string(),
        })?;
        let lines = FIELDS.map(|name| format!("\"{name}\": {}", lines(&written[name])));
        Ok(format!("{{\n{}\n}}\n", lines.join(",\n")))
    }

    /// Reads what [`SavedModel::to_text`] wrote. Whether the numbers fit each other shows in
    /// [`SavedModel::restore`].
    ///
    /// # Errors
    ///
    /// [`SavedModelError`]: no model at all, cut off, of a later format, a field missing or holding something
    /// else than it should.
    pub fn from_text(text: &str) -> Result<Self, SavedModelError> {
        // Straight into its fields a sound model is read in half the time; what is wrong with another shows one by one.
        match serde_json::from_str::<Self>(text) {
            Ok(saved) if saved.keenspan_model == FORMAT => Ok(saved),
            _ => Self::field_by_field(text),
        }
    }

    fn field_by_field(text: &str) -> Result<Self, SavedModelError> {
        let fields = fields(text)?;
        check_format(&fields)?;
        if let Some(field) = FIELDS.into_iter().find(|name| !fields.contains_key(*name)) {
            return Err(SavedModelError::Missing { field });
        }
        if let Some(field) = NUMBERS.into_iter().find(|name| holds_null(&fields[*name])) {
            return Err(SavedModelError::NotFinite { field });
        }
        serde_json::from_value(Value::Object(fields)).map_err(|error| SavedModelError::Malformed {
            reason: error.to_string(),
        })
    }
}

/// JSON with a line feed before each row of a table, so that a long file can be looked into and compared.
fn lines(value: &Value) -> String {
    match value {
        Value::Array(rows) if rows.first().is_some_and(Value::is_array) => {
            let rows: Vec<String> = rows.iter().map(|row| format!("\n{row}")).collect();
            format!("[{}]", rows.join(","))
        }
        Value::Object(fields) => {
            let field = |(name, value): (&String, &Value)| {
                format!("{}: {}", Value::from(name.as_str()), lines(value))
            };
            let fields: Vec<String> = fields.iter().map(field).collect();
            format!("{{{}}}", fields.join(", "))
        }
        other => other.to_string(),
    }
}

fn fields(text: &str) -> Result<Map<String, Value>, SavedModelError> {
    match serde_json::from_str(text) {
        Ok(Value::Object(fields)) => Ok(fields),
        Ok(_) => Err(SavedModelError::NotAModel {
            reason: "it is no JSON object".to_string(),
        }),
        Err(error) if error.is_eof() && text.contains("\"keenspan_model\"") => {
            Err(SavedModelError::CutOff { line: error.line() })
        }
        Err(error) => Err(SavedModelError::NotAModel {
            reason: format!("it is no JSON ({error})"),
        }),
    }
}

fn check_format(fields: &Map<String, Value>) -> Result<(), SavedModelError> {
    let word = |name: &str| fields.get(name).and_then(Value::as_str);
    match fields.get("keenspan_model").map(Value::as_u64) {
        Some(Some(FORMAT)) => Ok(()),
        Some(Some(found)) if found > FORMAT => Err(SavedModelError::LaterFormat {
            found,
            known: FORMAT,
            made_by: word("made_by").unwrap_or("of unknown version").to_string(),
        }),
        Some(Some(1..FORMAT)) => Err(SavedModelError::EarlierFormat {
            made_by: word("made_by").unwrap_or("of unknown version").to_string(),
        }),
        Some(_) => Err(SavedModelError::NotAModel {
            reason: "its \"keenspan_model\" is no format that there ever was".to_string(),
        }),
        None => Err(SavedModelError::NotAModel {
            reason: "it has no \"keenspan_model\"".to_string(),
        }),
    }
}

fn holds_null(value: &Value) -> bool {
    match value {
        Value::Null => true,
        Value::Array(items) => items.iter().any(holds_null),
        Value::Object(fields) => fields.values().any(holds_null),
        _ => false,
    }
}
