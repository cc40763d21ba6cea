//! Parsing of tyre designations.

use std::str::FromStr;

use super::cursor::{Cursor, DesignationError};
use super::designation::{
    Construction, Designation, Hundredths, ServiceDescription, Size, TubeMark, TyreClass,
};
use super::service::SpeedSymbol;

impl FromStr for Designation {
    type Err = DesignationError;

    /// # Errors
    /// The first place that does not fit, with what was expected there.
    fn from_str(text: &str) -> Result<Self, DesignationError> {
        let mut cursor = Cursor::new(text)?;
        let class = class_prefix(&mut cursor);
        let (size, construction) = size(&mut cursor)?;
        let mut designation = Self {
            size,
            construction,
            class,
            service: None,
            ply_rating: None,
            load_range: None,
            extra_load: false,
            tube: None,
        };
        // `LT` and `C` may follow the size without a space.
        if cursor.peek().is_some_and(|c| !c.is_whitespace()) {
            let start = cursor.position();
            let class =
                class_suffix(&mut cursor).ok_or_else(|| cursor.expected("LT, C, a space or the end"))?;
            once(&cursor, start, &mut designation.class, class, "the class")?;
        }
        loop {
            cursor.skip_spaces();
            if cursor.at_end() {
                return Ok(designation);
            }
            mark(&mut cursor, &mut designation)?;
            if cursor.peek().is_some_and(|c| !c.is_whitespace()) {
                return Err(cursor.expected("a space or the end"));
            }
        }
    }
}

fn class_prefix(cursor: &mut Cursor) -> Option<TyreClass> {
    let classes = [
        ("LT", TyreClass::LightTruck),
        ("ST", TyreClass::Trailer),
        ("P", TyreClass::Passenger),
        ("T", TyreClass::Temporary),
    ];
    let class = classes
        .into_iter()
        .find(|(word, _)| cursor.take_word(word))
        .map(|(_, class)| class);
    cursor.skip_spaces();
    class
}

fn size(cursor: &mut Cursor) -> Result<(Size, Construction), DesignationError> {
    const SECTION_MM: &str = "a section width of 75 to 500 mm in whole millimetres";
    let start = cursor.position();
    let first = cursor.decimal("a section width or an overall diameter")?;
    let section_mm = || {
        let in_range = first.is_whole() && (7_500..=50_000).contains(&first.0);
        in_range
            .then_some(first.0 / 100)
            .ok_or_else(|| cursor.expected_at(start, SECTION_MM))
    };
    match cursor.peek() {
        Some('/') => {
            let section_width_mm = section_mm()?;
            cursor.advance();
            let aspect_start = cursor.position();
            let aspect = cursor.whole("an aspect ratio in per cent")?;
            if !(20..=110).contains(&aspect) {
                return Err(cursor.expected_at(aspect_start, "an aspect ratio of 20 to 110 per cent"));
            }
            let (construction, rim_in) = construction_and_rim(cursor)?;
            Ok((
                Size::Metric {
                    section_width_mm,
                    aspect_percent: Some(aspect),
                    rim_in,
                },
                construction,
            ))
        }
        Some('X' | '×') => flotation(cursor, start, first),
        _ if first.0 >= 5_000 => {
            let section_width_mm = section_mm()?;
            let (construction, rim_in) = construction_and_rim(cursor)?;
            Ok((
                Size::Metric {
                    section_width_mm,
                    aspect_percent: None,
                    rim_in,
                },
                construction,
            ))
        }
        _ => {
            if !(300..=1_800).contains(&first.0) {
                return Err(cursor.expected_at(start, "a section width of 3 to 18 inches"));
            }
            let (construction, rim_in) = construction_and_rim(cursor)?;
            Ok((
                Size::OldInch {
                    section_width_in: first,
                    rim_in,
                },
                construction,
            ))
        }
    }
}

fn flotation(
    cursor: &mut Cursor,
    start: usize,
    diameter_in: Hundredths,
) -> Result<(Size, Construction), DesignationError> {
    cursor.advance();
    let section_start = cursor.position();
    let section_width_in = cursor.decimal("a section width in inches")?;
    if !(400..=2_000).contains(&section_width_in.0) {
        return Err(cursor.expected_at(section_start, "a section width of 4 to 20 inches"));
    }
    let (construction, rim_in) = construction_and_rim(cursor)?;
    if !(2_000..=6_000).contains(&diameter_in.0) || diameter_in <= rim_in {
        let expected = "an overall diameter of 20 to 60 inches, larger than the rim";
        return Err(cursor.expected_at(start, expected));
    }
    Ok((
        Size::Flotation {
            diameter_in,
            section_width_in,
            rim_in,
        },
        construction,
    ))
}

fn construction_and_rim(cursor: &mut Cursor) -> Result<(Construction, Hundredths), DesignationError> {
    cursor.skip_spaces();
    let construction = match cursor.take_any(&['R', '-', 'D', 'B']) {
        Some('R') => Construction::Radial,
        Some('B') => Construction::BiasBelted,
        Some(_) => Construction::Diagonal,
        None => return Err(cursor.expected("the construction: R, B, D or -")),
    };
    cursor.skip_spaces();
    let start = cursor.position();
    let rim_in = cursor.decimal("a rim diameter in inches")?;
    if !(800..=3_000).contains(&rim_in.0) || !rim_in.0.is_multiple_of(50) {
        return Err(cursor.expected_at(start, "a rim diameter of 8 to 30 inches in whole or half inches"));
    }
    Ok((construction, rim_in))
}

fn class_suffix(cursor: &mut Cursor) -> Option<TyreClass> {
    if cursor.take_whole_word("LT") {
        Some(TyreClass::LightTruck)
    } else if cursor.take_whole_word("C") {
        Some(TyreClass::Commercial)
    } else {
        None
    }
}

fn mark(cursor: &mut Cursor, designation: &mut Designation) -> Result<(), DesignationError> {
    const MARKS: &str =
        "a service description (123/120Q), a ply rating (8PR), a load range (LR E), LT, C, XL, TL or TT";
    let start = cursor.position();
    if cursor.peek().is_some_and(|c| c.is_ascii_digit()) {
        return service_or_ply(cursor, designation);
    }
    if cursor.take_whole_word("XL") {
        designation.extra_load = true;
    } else if cursor.take_whole_word("TL") || cursor.take_whole_word("TUBELESS") {
        once(
            cursor,
            start,
            &mut designation.tube,
            TubeMark::Tubeless,
            "the tube mark",
        )?;
    } else if cursor.take_whole_word("TT") || cursor.take_whole_word("TUBE TYPE") {
        once(
            cursor,
            start,
            &mut designation.tube,
            TubeMark::TubeType,
            "the tube mark",
        )?;
    } else if cursor.take_word("LOAD RANGE") || cursor.take_word("LR") {
        cursor.skip_spaces();
        let letter = cursor.peek().filter(|c| ('A'..='N').contains(c));
        let letter = letter.ok_or_else(|| cursor.expected("a load range letter from A to N"))?;
        cursor.advance();
        once(
            cursor,
            start,
            &mut designation.load_range,
            letter,
            "the load range",
        )?;
    } else if let Some(class) = class_suffix(cursor) {
        once(cursor, start, &mut designation.class, class, "the class")?;
    } else {
        return Err(cursor.expected(MARKS));
    }
    Ok(())
}

fn service_or_ply(cursor: &mut Cursor, designation: &mut Designation) -> Result<(), DesignationError> {
    let start = cursor.position();
    let number = cursor.whole("a load index or a ply rating")?;
    if cursor.take_whole_word("PR") {
        if !(2..=40).contains(&number) {
            return Err(cursor.expected_at(start, "a ply rating of 2 to 40"));
        }
        return once(
            cursor,
            start,
            &mut designation.ply_rating,
            number,
            "the ply rating",
        );
    }
    let load_index_single = load_index(cursor, start, number)?;
    let mut load_index_dual = None;
    if cursor.take_any(&['/']).is_some() {
        let dual_start = cursor.position();
        let dual = cursor.whole("a load index for dual fitting")?;
        load_index_dual = Some(load_index(cursor, dual_start, dual)?);
    }
    let speed_symbol = cursor.peek().and_then(SpeedSymbol::from_letter);
    let speed_symbol =
        speed_symbol.ok_or_else(|| cursor.expected("a speed symbol, or PR after a ply rating"))?;
    cursor.advance();
    let service = ServiceDescription {
        load_index_single,
        load_index_dual,
        speed_symbol,
    };
    once(
        cursor,
        start,
        &mut designation.service,
        service,
        "the service description",
    )
}

fn load_index(cursor: &Cursor, start: usize, number: u32) -> Result<u32, DesignationError> {
    // 279 is the highest load index there is.
    if number > 279 {
        Err(cursor.expected_at(start, "a load index of 0 to 279"))
    } else {
        Ok(number)
    }
}

fn once<T>(
    cursor: &Cursor,
    start: usize,
    field: &mut Option<T>,
    value: T,
    what: &str,
) -> Result<(), DesignationError> {
    if field.is_some() {
        return Err(cursor.expected_at(start, format!("{what} only once")));
    }
    *field = Some(value);
    Ok(())
}
