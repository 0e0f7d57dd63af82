// SPDX-License-Identifier: GPL-3.0-or-later
#include "cradlewright/catalog/bibliography.hpp"

#include <algorithm>
#include <array>

namespace cradlewright {
namespace {

constexpr std::array references{
    // Provenance words of Source: no publication stands behind these.
    Reference{"common-practice", "common practice of the trade"},
    Reference{"from-memory", "from memory, not re-read"},
    Reference{"assumed", "assumed"},
    Reference{"derived", "derived"},
    Reference{"told", "told by the user"},

    // Beams, plates, materials.
    Reference{"roark", "W. C. Young, R. G. Budynas, Roark's Formulas for Stress and Strain, 7th ed., McGraw-Hill 2002"},
    Reference{"timoshenko-plates",
              "S. Timoshenko, S. Woinowsky-Krieger, Theory of Plates and Shells, 2nd ed., McGraw-Hill 1959"},
    Reference{"jaramillo",
              "T. J. Jaramillo, Deflections and Moments Due to a Concentrated Load on a Cantilever Plate of Infinite "
              "Length, Journal of Applied Mechanics 17 (1950)"},
    Reference{"hetenyi", "M. Hetenyi, Beams on Elastic Foundation, University of Michigan Press 1946"},
    Reference{
        "wood-handbook",
        "Forest Products Laboratory, Wood Handbook: Wood as an Engineering Material, FPL-GTR-190, US Department of "
        "Agriculture 2010"},
    Reference{"plywood-bending-tests", "bending tests of five plywood panel types, woodj.org, wood-53-4-429, table 3"},
    Reference{"finnish-plywood", "Handbook of Finnish Plywood, Finnish Forest Industries Federation"},
    Reference{"bioresources-2015", "Zhang, Hunt, Zhou, BioResources 10(2) (2015) 3070"},
    Reference{"plastics-table", "table of properties of plastic materials, trade page, read by the project"},
    Reference{"en-13164", "EN 13164, Factory made extruded polystyrene foam products, and data sheets after it"},
    Reference{"gibson-ashby", "L. J. Gibson, M. F. Ashby, Cellular Solids, 2nd ed., Cambridge University Press 1997"},
    Reference{"jang-1994",
              "B. Z. Jang, Advanced Polymer Composites: Principles and Applications, ASM International 1994, as quoted "
              "at pslc.ws"},
    Reference{"cgpm-1901", "3rd General Conference on Weights and Measures, declaration on weight, 1901"},

    // Laminates and cloth.
    Reference{"daniel-ishai",
              "I. M. Daniel, O. Ishai, Engineering Mechanics of Composite Materials, Oxford University Press"},
    Reference{"mallick", "P. K. Mallick, Fiber-Reinforced Composites, 3rd ed., CRC Press 2007"},
    Reference{
        "resin-shrinkage-pages",
        "netcomposites.com, guide to resin systems; faqs.tips, epoxy and polyester shrinkage; read by the project"},
    Reference{"krenchel", "H. Krenchel, Fibre Reinforcement, Akademisk Forlag 1964"},
    Reference{"iso-12215-5",
              "ISO 12215-5, Small craft: Hull construction and scantlings, Part 5: Design pressures, stresses, "
              "scantlings determination"},
    Reference{"peirce-cantilever",
              "F. T. Peirce, The Handle of Cloth as a Measurable Quantity, Journal of the Textile Institute 21 (1930) "
              "T377; ASTM D1388; examined by Lammens et al., Textile Research Journal 84 (2014) 1307"},
    Reference{
        "bico-roman",
        "J. Bico et al., Adhesion: Elastocapillary Coalescence in Wet Hair, Nature 432 (2004) 690; B. Roman, J. Bico, "
        "Elasto-capillarity: Deforming an Elastic Structure with a Liquid Droplet, Journal of Physics: Condensed "
        "Matter 22 (2010) 493101"},
    Reference{
        "mack-taylor",
        "C. Mack, H. M. Taylor, The Fitting of Woven Cloth to Surfaces, Journal of the Textile Institute 47 (1956) "
        "T477"},
    Reference{"fillet-trade-pages", "boatbuilders' forum threads and trade pages on corner radii, read by the project"},
    Reference{"gel-coat-trade-articles", "trade articles on the thickness of gel coat, read by the project"},

    // Draft, castability, geometry.
    Reference{"draft-trade-articles", "trade articles on draft angles of moulds, read by the project"},
    Reference{
        "bose-2017",
        "P. Bose, D. Halperin, S. Shamai, On the Separation of a Polyhedron from Its Single-Part Mold, 2017, arXiv "
        "1708.04203"},
    Reference{
        "de-berg",
        "M. de Berg, O. Cheong, M. van Kreveld, M. Overmars, Computational Geometry: Algorithms and Applications, "
        "3rd ed., Springer 2008"},
    Reference{"boykov-kolmogorov",
              "Y. Boykov, V. Kolmogorov, An Experimental Comparison of Min-Cut/Max-Flow Algorithms for Energy "
              "Minimization in Vision, IEEE Transactions on Pattern Analysis and Machine Intelligence 26 (2004) 1124"},
    Reference{"morozov", "V. Morozov, Methods for Solving Incorrectly Posed Problems, Springer 1984"},
    Reference{
        "whittaker",
        "E. Whittaker, On a New Method of Graduation, Proceedings of the Edinburgh Mathematical Society 41 (1923)"},
    Reference{"mirtich",
              "B. Mirtich, Fast and Accurate Computation of Polyhedral Mass Properties, Journal of Graphics Tools 1(2) "
              "(1996) 31"},
    Reference{"minetto",
              "R. Minetto, N. Volpato, J. Stolfi, R. M. M. H. Gregori, M. V. G. da Silva, An Optimal Algorithm for 3D "
              "Triangle Mesh Slicing, Computer-Aided Design 92 (2017) 1"},
    Reference{
        "welzl",
        "E. Welzl, Smallest Enclosing Disks (Balls and Ellipsoids), New Results and New Trends in Computer Science, "
        "LNCS 555, Springer 1991"},
    Reference{"naca-tm-4741",
              "C. L. Ladson, C. W. Brooks, A. S. Hill, D. W. Sproles, Computer Program to Obtain Ordinates for NACA "
              "Airfoils, NASA TM-4741, 1996"},
    Reference{"naca-824",
              "I. H. Abbott, A. E. von Doenhoff, L. S. Stivers, Summary of Airfoil Data, NACA Report 824, 1945"},

    Reference{
        "damerau",
        "F. J. Damerau, A Technique for Computer Detection and Correction of Spelling Errors, Communications of the "
        "ACM 7 (1964) 171"},

    // Lifting by hand.
    Reference{
        "niosh-lifting",
        "T. R. Waters, V. Putz-Anderson, A. Garg, L. J. Fine, Revised NIOSH Equation for the Design and Evaluation of "
        "Manual Lifting Tasks, Ergonomics 36 (1993) 749; Applications Manual, DHHS (NIOSH) Publication 94-110"},
    Reference{"hse-team-lift",
              "Health and Safety Executive, Manual Handling, Guidance on Regulations L23, team handling, as quoted at "
              "safety.networkrail.co.uk"},

    // Tools, friction, paper, file formats.
    Reference{"bandsaw-charts", "three published charts of bandsaw blade width against radius, read by the project"},
    Reference{"friction-table", "table of friction coefficients, howwhy.nfshost.com, read by the project"},
    Reference{"iso-216", "ISO 216, Writing paper and certain classes of printed matter: Trimmed sizes, A and B series"},
    Reference{"asme-y14.1", "ASME Y14.1, Drawing Sheet Size and Format"},
    Reference{"nist-rs274",
              "T. R. Kramer, F. M. Proctor, E. Messina, The NIST RS274NGC Interpreter - Version 3, NISTIR 6556, 2000"},
    Reference{"dxf-reference", "DXF Reference, group codes of VERTEX and LWPOLYLINE, published by the format's owner"},
    Reference{"svg-css-units", "CSS Values and Units Module Level 3, section Distance Units, w3.org/TR/css-values-3"},
    Reference{"pdf-user-unit", "ISO 32000, Portable Document Format: user space unit of 1/72 inch"},
    Reference{"stl-format", "description of the STL format, paulbourke.net/dataformats/stl"},
    Reference{"gltf-2.0", "glTF 2.0 Specification, registry.khronos.org/glTF/specs/2.0/glTF-2.0.html"},
};

}  // namespace

std::span<const Reference> bibliography() { return references; }

const Reference* find_reference(std::string_view key) {
    const auto found =
        std::find_if(references.begin(), references.end(), [&](const Reference& r) { return r.key == key; });
    return found == references.end() ? nullptr : &*found;
}

std::string describe(const Source& source) {
    const Reference* reference = find_reference(source.key);
    std::string text = reference != nullptr ? std::string(reference->text) : "unknown source \"" + source.key + "\"";
    if (!source.where.empty()) {
        text += is_publication(source.key) ? ", " : ": ";
        text += source.where;
    }
    return text;
}

bool is_publication(std::string_view key) {
    return find_reference(key) != nullptr && key != "common-practice" && key != "from-memory" && key != "assumed" &&
           key != "derived" && key != "told";
}

}  // namespace cradlewright
