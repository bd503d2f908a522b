//! All pictures, as files.

use std::{fs, path::Path};

use crate::{drawing, scenes};

/// A picture and where it belongs.
pub struct Picture {
    /// `room-block.svg`.
    pub path: String,
    /// The file.
    pub text: String,
}

/// Draws every scene.
pub fn all() -> Vec<Picture> {
    let draw = |scene: &scenes::Scene| {
        let name = snake(scene.block);
        let text = drawing::svg(&scene.chart, &format!("{}-{name}", scene.room), scene.block);
        Picture { path: format!("{}-{name}.svg", scene.room), text }
    };
    scenes::all().iter().map(draw).collect()
}

/// Writes them below a folder.
pub fn write(folder: &Path) -> Result<(), String> {
    for picture in all() {
        let path = folder.join(&picture.path);
        let told = |error: std::io::Error| format!("{}: {error}", path.display());
        fs::create_dir_all(path.parent().unwrap_or(folder)).map_err(told)?;
        fs::write(&path, picture.text).map_err(told)?;
    }
    Ok(())
}

/// The name of a file for a type: `PairRamp` is `pair_ramp`.
pub fn snake(name: &str) -> String {
    let mut snake = String::new();
    for letter in name.chars() {
        if letter.is_uppercase() && !snake.is_empty() {
            snake.push('_');
        }
        snake.extend(letter.to_lowercase());
    }
    snake
}

#[cfg(test)]
mod tests {
    use super::*;

    /// What the docs of a page carry along.
    const LARGEST: usize = 6 * 1024;

    #[test]
    fn every_picture_is_small_and_has_a_name_of_its_own() {
        let pictures = all();
        for picture in &pictures {
            assert!(picture.text.len() <= LARGEST, "{} has {} bytes", picture.path, picture.text.len());
        }
        let mut paths: Vec<&str> = pictures.iter().map(|picture| picture.path.as_str()).collect();
        paths.sort_unstable();
        paths.dedup();
        assert_eq!(paths.len(), pictures.len());
    }

    #[test]
    fn pictures_are_drawn_alike_each_time() {
        assert!(all().iter().zip(all()).all(|(one, other)| one.text == other.text));
    }
}
